// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

#include "mesh/bad_input.h"

namespace holdshelf {

/// The database refused, failed or went away; says the engine's own words.
class StoreError : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
  /// Whether what it keeps is damaged: then it is no use to ask again, as it is where the disk is
  /// full or somebody else writes.
  virtual bool isDamage() const { return false; }
};

/// The same as one sentence for people: it is the database that is to be looked after, not what was
/// asked of it, and asking again later may do.
class StoreUnavailable : public BadInput {
  using BadInput::BadInput;
};

/// The same of a StoreError that is damage.
class StoreDamaged : public StoreUnavailable {
  using StoreUnavailable::StoreUnavailable;
};

/// Says a store's failure at a place as that sentence.
[[noreturn]] void refuseWith(const StoreError& error, const std::filesystem::path& place);

/// A hold as its row keeps it. What the views point to lives as long as the visit or call.
struct HoldRow {
  std::int64_t key = 0;  ///< Small whole numbers in order of creation; given by the store.
  std::string_view id;
  int status = 0;
  std::string_view name, bin, set, colour;
  std::string_view site;  ///< Where it stands; empty where there is one site.
  /// None without a scan.
  std::optional<double> protrusion_mm, width_mm, height_mm, volume_mm3;
  std::string_view search;  ///< Measured numbers, packed (catalog/search_row.h).
  std::string_view body;    ///< Hold message.
  /// For an index over many rows (catalog/search_marks.h); only written.
  std::vector<std::int32_t> marks = {};
};

/// An event as its row keeps it.
struct EventRow {
  std::int64_t number = 0;
  std::string_view subject, at, who;
  std::string_view body;  ///< Event message.
};

/// What a library needs of a database: numbered events, the rows that holds fold to, and the list
/// of batches. Knows no meaning of either; library.h does. One store serves one thread.
///
/// Every function throws StoreError when the database fails. tests/postgres/store_test.cpp holds
/// all implementations to the same behaviour.
class LibraryStore {
 public:
  /// A transaction that alone writes: what is read inside it stays true until its commit. Undone on
  /// destruction unless committed.
  class Write {
   public:
    virtual ~Write() = default;
    virtual void commit() = 0;
  };
  /// As long as it lives, everything is read as it was at one moment, while others write.
  class Moment {
   public:
    virtual ~Moment() = default;
  };
  enum class HoldPart { Search, Body, All };

  virtual ~LibraryStore() = default;

  /// Brings an older schema, or none, up to date in one transaction. `refold` is called in it where
  /// the rows of holds have to be made anew.
  /// @throws NewerLibrary (library.h)  A newer program made it; nothing was touched.
  virtual void migrate(const std::function<void()>& refold) = 0;
  /// Waits for whoever writes now.
  virtual std::unique_ptr<Write> write() = 0;
  /// Not while one of its own writes is open, and none is opened before it has gone.
  virtual std::unique_ptr<Moment> moment() = 0;

  virtual bool hasHold(const std::string& id) = 0;
  virtual std::int64_t holdCount() = 0;
  virtual std::optional<std::string> holdBody(const std::string& id) = 0;
  virtual std::int64_t lastKey() = 0;              ///< 0: no hold.
  virtual std::vector<std::string> holdIds() = 0;  ///< In order of their keys.
  /// In order of their keys, as of one moment. Parts that were not asked for are empty.
  virtual void forEachHold(HoldPart part, const std::function<void(const HoldRow&)>& visit) = 0;

  virtual std::int64_t lastEvent() = 0;  ///< 0: none.
  /// In order of their numbers, those with greater ones than `after`.
  virtual void forEachEvent(const std::function<void(const EventRow&)>& visit,
                            std::int64_t after = 0) = 0;
  /// Of a hold or another subject, in order of their numbers.
  virtual void forEachEventOf(const std::string& subject,
                              const std::function<void(const EventRow&)>& visit) = 0;
  virtual std::int64_t countEventsOf(const std::string& subject) = 0;
  /// Subjects that begin so, the one whose first event is the latest first.
  virtual std::vector<std::string> subjects(const std::string& prefix) = 0;

  virtual std::vector<std::string> batches() = 0;  ///< Names of their blobs, in order.
  virtual std::string lastBatch() = 0;             ///< Empty: none.

  // Inside a write.
  virtual void addBatch(const std::string& blob) = 0;
  virtual void addEvents(const std::vector<EventRow>& events) = 0;
  /// New ones, or in the place of those with the same id. No id may be named twice.
  virtual void putHolds(const std::vector<HoldRow>& holds) = 0;
  virtual void clear() = 0;
  /// Keeps what is stored now, before it is cleared, as a copy that nobody reads.
  /// @return  What that is called, for whoever looks after the library.
  virtual std::string keepAside() = 0;

  /// What the engine finds damaged of its own files; empty: nothing.
  virtual std::string damage() = 0;
  /// What its engine is not set up to find, as a sentence that says what to do; empty: nothing.
  virtual std::string remark() { return ""; }
};

}  // namespace holdshelf
