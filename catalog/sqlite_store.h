// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>

#include "catalog/library_store.h"
#include "catalog/sqlite.h"

namespace holdshelf {

/// A library's database as one file: FOLDER/holdshelf.sqlite, with a write-ahead log and full
/// synchronisation. Several processes may have it open.
class SqliteStore : public LibraryStore {
 public:
  static bool isIn(const std::filesystem::path& folder);
  /// Version of the schema that this program writes.
  static int schemaVersion();
  /// Opens the file, or (ReadWrite) makes an empty one.
  /// @throws BadInput  It cannot be opened. @throws NewerLibrary
  explicit SqliteStore(const std::filesystem::path& folder,
                       sqlite::Database::Access access = sqlite::Database::Access::ReadWrite);

  void migrate(const std::function<void()>& refold) override;
  std::unique_ptr<Write> write() override;
  std::unique_ptr<Moment> moment() override;
  bool hasHold(const std::string& id) override;
  std::int64_t holdCount() override;
  std::optional<std::string> holdBody(const std::string& id) override;
  std::int64_t lastKey() override;
  std::vector<std::string> holdIds() override;
  void forEachHold(HoldPart part, const std::function<void(const HoldRow&)>& visit) override;
  std::int64_t lastEvent() override;
  void forEachEvent(const std::function<void(const EventRow&)>& visit, std::int64_t after) override;
  void forEachEventOf(const std::string& subject,
                      const std::function<void(const EventRow&)>& visit) override;
  std::int64_t countEventsOf(const std::string& subject) override;
  std::vector<std::string> subjects(const std::string& prefix) override;
  std::vector<std::string> batches() override;
  std::string lastBatch() override;
  void addBatch(const std::string& blob) override;
  void addEvents(const std::vector<EventRow>& events) override;
  void putHolds(const std::vector<HoldRow>& holds) override;
  void clear() override;
  std::string keepAside() override;
  std::string damage() override;

  /// For what only a file can: a copy of it as it is, and its log moved into it.
  sqlite::Database& database() { return database_; }

 private:
  std::filesystem::path folder_;
  sqlite::Database database_;
};

}  // namespace holdshelf
