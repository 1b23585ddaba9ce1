// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>
#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "catalog/blob_store.h"
#include "catalog/library_store.h"
#include "catalog/sqlite.h"
#include "mesh/bad_input.h"
#include "proto/event.pb.h"
#include "proto/hold.pb.h"

namespace holdshelf {

/// A newer program made the library: it is left exactly as it is.
class NewerLibrary : public BadInput {
  using BadInput::BadInput;
};

/// The hold as its row keeps it: what takes most room and is rarely read (the scans' sections,
/// cameras and times) stays in the events.
Hold slimHold(Hold hold);

/// A gym's holds, in one folder (holdshelf.sqlite and blobs/, with no server and no configuration)
/// or in a PostgreSQL database that many machines share. Which of them, its place says: a folder or
/// an address (library_place.h); everything else is the same.
///
/// Events are the truth; the hold rows are what they fold to, kept for reading. What one commit
/// adds is written whole or not at all: its files first (durable under their content's name), then
/// the batch of events as a file of its own, then one transaction. A process killed
/// anywhere leaves at most files that nothing refers to.
///
/// One Library serves one thread; several processes or threads may each open the same place.
class Library {
 public:
  static bool isIn(const std::filesystem::path& place);
  /// Version of the schema that this program writes into a folder.
  static int schemaVersion();
  /// Opens a library that exists. @throws BadInput  There is none. @throws NewerLibrary
  static Library open(const std::filesystem::path& place);
  /// Opens it, or makes an empty one where there is nothing.
  /// @throws BadInput  There are batches of events whose database is lost, which an empty one would
  ///                   hide (checkLibrary makes it anew).
  static Library openOrCreate(const std::filesystem::path& place);

  Blobs& blobs() { return *blobs_; }
  const Blobs& blobs() const { return *blobs_; }
  /// The place: a folder, or an address (without secrets).
  const std::filesystem::path& folder() const { return folder_; }

  /// Adds the events in one transaction and gives them their numbers and times where they have
  /// none. A created hold with an empty id gets the next free one ("H-0001"), also in the events
  /// that follow it with an empty id. Returns the events as stored.
  ///
  /// Events that name a `subject` and no hold (a crate, the gym) are stored and make no hold; their
  /// meaning is up to who reads them with history(subject).
  /// Events of one hold or other subject get times that do not fall, so that a clock that was set
  /// back reorders nothing.
  /// @param allowed  Called inside the transaction, before anything is written: what it reads of
  ///                 this library stays true until the commit. It throws to refuse, e.g. because
  ///                 somebody else has put the hold into a crate since.
  /// @throws BadInput  An id to create exists, or an id to change does not; nothing is stored.
  std::vector<Event> commit(std::vector<Event> events, const std::function<void()>& allowed = {});
  /// The same with the events made inside the transaction, from what is then true. `make` throws to
  /// refuse.
  std::vector<Event> commitMade(const std::function<std::vector<Event>()>& make);
  /// Who commits from here on, where an event names nobody; the user of this machine otherwise.
  void actAs(const std::string& who) { who_ = who; }
  /// For which of the sites that share the library: $HOLDSHELF_SITE unless said otherwise. New
  /// holds are that site's. A hold that stands at another site can be noted on; its own site can
  /// also edit, give, lend and recall it; anything else is refused. Empty: one site, everything is
  /// allowed.
  void actAt(const std::string& site) { site_ = site; }

  /// Takes over one batch of another library as it is, with the numbers and times of its events;
  /// its files must be here. The first step of bringing a library elsewhere (library_transfer.h).
  /// @throws BadInput  It does not follow on the last batch here.
  void adopt(const Batch& batch);

  /// Makes the database anew: exactly these batches (blobs by name, in order) and their events.
  void restore(const std::vector<std::string>& batches, const std::vector<Event>& events);
  /// The same inside a write of store() that is open, and that who has opened it commits.
  /// @throws StoreError
  void restoreInside(const LibraryStore::Write& open, const std::vector<std::string>& batches,
                     const std::vector<Event>& events);

  bool has(const std::string& id) const;
  /// The next id of the form "H-0001" that no hold has and that is not among the taken ones.
  std::string nextFreeId(const std::set<std::string>& taken = {}) const;
  std::int64_t size() const;
  /// Without what takes most room: the scans' sections, cameras and times (see currentFullScan).
  /// @throws BadInput  There is no such hold; the sentence names the nearest id.
  Hold hold(const std::string& id) const;
  /// The last scan, whole. @throws BadInput  There is no such hold, or it has no scan.
  Scan currentFullScan(const std::string& id) const;
  /// Events of a hold or of another subject, in the order in which they are folded.
  std::vector<Event> history(const std::string& id) const;

  /// All holds in order of their keys (small whole numbers, given in order of creation).
  void forEachHold(const std::function<void(std::int64_t key, const Hold&)>& visit) const;
  /// All events in order.
  void forEachEvent(const std::function<void(const Event&)>& visit) const;
  /// Number of the last event: changes exactly when the library does.
  std::int64_t lastEvent() const;

  /// Moves what the write-ahead log holds into the database file, so that copying it is enough.
  void checkpoint();

  /// The rows themselves, for search and checks.
  LibraryStore& store() const { return *store_; }
  /// The file of a library in a folder. @throws BadInput  It is not in one.
  const sqlite::Database& database() const;

 private:
  Library(std::filesystem::path place, std::unique_ptr<LibraryStore> store,
          std::unique_ptr<Blobs> blobs);
  void refold();
  void numberEvents(std::vector<Event>& events) const;
  /// The holds as the events leave them.
  /// @param said_at  The site that says them now. Empty: they were accepted before, wherever that
  ///                 was.
  std::map<std::string, Hold> applyEvents(const std::vector<Event>& events,
                                          const std::string& said_at) const;
  /// When what the event is about was last changed, by those who changed it; empty: it is new.
  std::string lastTimeOf(const Event& event) const;
  void keepTimesRising(std::vector<Event>& events) const;
  void storeBatch(const std::vector<Event>& events);
  void storeEvents(const std::vector<Event>& events);
  void storeHolds(const std::map<std::string, Hold>& holds);

  std::filesystem::path folder_;
  std::string who_, site_;
  std::unique_ptr<LibraryStore> store_;
  std::unique_ptr<Blobs> blobs_;
};

/// The files of the library at a place, also where its database is lost or damaged.
std::unique_ptr<Blobs> blobsAt(const std::filesystem::path& place);

}  // namespace holdshelf
