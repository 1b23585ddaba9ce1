// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstddef>
#include <filesystem>
#include <span>

#include "catalog/blobs.h"
#include "catalog/library_store.h"
#include "catalog/postgres.h"

namespace holdshelf {

/// A library in the schema `holdshelf` of a PostgreSQL database, which any number of machines
/// share. Whoever writes holds one advisory lock to the end of the transaction, so that numbers and
/// ids are given once and what was read stays true; readers wait for nobody.
class PostgresStore : public LibraryStore {
 public:
  /// Whether there is a library in the database.
  static bool isIn(const std::filesystem::path& address);
  /// Version of the schema that this program writes.
  static int schemaVersion();
  /// @throws BadInput  The address is none, or names a password. @throws StoreError
  /// @param piece_bytes  Rows that are stored together go in statements of so much each.
  explicit PostgresStore(const std::filesystem::path& address,
                         std::size_t piece_bytes = postgres::kUsualPiece);

  /// Where this library's files are: in the database, or in the folder that its setting `files`
  /// names ($HOLDSHELF_FILES where this machine has it mounted elsewhere). Such a folder bears the
  /// library's mark; one that an older program filled gets it, once somebody who may write the
  /// settings opens the library where it is mounted. After migrate().
  /// @throws StoreUnavailable  This machine has not that folder, but another or an empty one.
  std::unique_ptr<Blobs> blobs();
  /// Keeps the files in a folder that all machines share, and marks it as having them; empty: in
  /// the database. Only while there are none; named again, it is marked where an older program did
  /// not. @throws BadInput  There are files already, or the folder cannot be written to.
  void keepFilesIn(const std::filesystem::path& folder);
  /// The marks that each hold is found by (search_marks.h), in order of their keys, as of one
  /// moment.
  void forEachMarked(const std::function<void(const std::string& id,
                                              const std::vector<std::int32_t>& marks)>& visit);
  /// In a write that takes long between two statements, as a repair does, which reads, folds and
  /// writes files meanwhile: to its end the server waits an hour for the next one, not a minute.
  void takeLong();
  const std::shared_ptr<postgres::Connection>& connection() const { return connection_; }
  /// The site that the login of this connection is bound to (meta `site/LOGIN`, which only the
  /// owner writes); empty: none.
  std::string siteOfLogin();

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
  std::string remark() override;

 private:
  std::int64_t version();
  std::vector<std::string> markOurs(const std::filesystem::path& here);
  std::vector<std::string> markedNow(const std::filesystem::path& here);
  std::int64_t oneNumber(const std::string& sql, const postgres::Values& values = {});
  std::vector<std::string> texts(const std::string& sql, const postgres::Values& values = {});
  void addPiece(std::span<const EventRow> events);

  std::filesystem::path address_;
  std::size_t piece_bytes_;
  std::shared_ptr<postgres::Connection> connection_;
};

/// The site that who has opened this store works for: the one that its login is bound to, else
/// $HOLDSHELF_SITE. @throws BadInput  They are two different ones.
std::string siteAt(LibraryStore& store);

}  // namespace holdshelf
