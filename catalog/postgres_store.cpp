// SPDX-License-Identifier: Apache-2.0
#include "catalog/postgres_store.h"

#include <algorithm>
#include <charconv>
#include <cstdio>
#include <cstdlib>
#include <random>
#include <system_error>

#include "catalog/blob_store.h"
#include "catalog/database_blobs.h"
#include "catalog/library.h"
#include "catalog/library_place.h"
#include "catalog/postgres_hold.h"
#include "catalog/postgres_pool.h"
#include "catalog/postgres_schema.h"
#include "mesh/open_file.h"
#include "mesh/whole_file.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

using postgres::columnOf;
using postgres::Connection;
using postgres::Rows;
using postgres::Values;

constexpr const char* kNoPermission = "42501";  // insufficient_privilege
constexpr std::int64_t kLock = 1213156420;      // "HOLD": of whoever writes.
constexpr const char* kPage = "500";            // Rows that are fetched at a time.

/// In a folder that machines share: whose files are in it, as `files/id` in `meta` has it. An empty
/// mount point has none.
constexpr const char* kFilesMark = "holdshelf.files";

/// Where a folder of shared files is on this machine.
fs::path mountedHere(const fs::path& folder) {
  const char* mounted = std::getenv("HOLDSHELF_FILES");
  return mounted != nullptr ? fs::path(mounted) : folder;
}

std::string newFilesId() {
  std::random_device random;
  std::string id;
  for (int i = 0; i < 4; ++i) {
    char digits[9];
    std::snprintf(digits, sizeof digits, "%08x", static_cast<unsigned>(random()));
    id += digits;
  }
  return id;
}

/// The mark of a folder that is to have a library's files, made where it has none yet.
std::string markFolder(const fs::path& folder) {
  if (auto there = readFileIfThere(folder / kFilesMark)) return *std::move(there);
  try {
    makeFolderDurably(folder);
    std::string id = newFilesId();
    writeFileDurably(folder / kFilesMark, id);
    return id;
  } catch (const std::system_error& failure) {
    throw BadInput("The library's files cannot be kept in " + folder.string() + " (" +
                   failure.code().message() +
                   "): name a folder that all machines have mounted and may write to.");
  }
}

/// @throws StoreUnavailable  The folder has not the files of this library: what was put there would
///                           be hidden from all, and what is asked for seem lost.
void needMark(const fs::path& folder, const std::string& id) {
  std::string why = "they are not there";
  try {
    const auto mark = readFileIfThere(folder / kFilesMark);
    if (mark == id) return;
    if (mark) why = "those of another library are there";
  } catch (const BadInput&) {
    why = "they cannot be read";
  }
  throw StoreUnavailable("This machine does not have the library's files in " + folder.string() +
                         " (" + why +
                         "): mount the folder that all machines share, or name in "
                         "HOLDSHELF_FILES where it is mounted.");
}

/// Files in a folder that bears the library's mark. It may go while they are in use: then nothing
/// is put, and nothing that is not there is taken for lost.
class MarkedFiles : public BlobStore {
 public:
  MarkedFiles(const fs::path& folder, std::string id)
      : BlobStore(folder), folder_(folder), id_(std::move(id)) {
    needMark(folder_, id_);
  }

  std::string put(std::string_view bytes) override {
    needMark(folder_, id_);
    return BlobStore::put(bytes);
  }
  std::string get(const std::string& name) const override {
    (void)has(name);
    return BlobStore::get(name);
  }
  bool has(const std::string& name) const override {
    if (BlobStore::has(name)) return true;
    needMark(folder_, id_);
    return false;
  }
  std::vector<std::string> names() const override {
    needMark(folder_, id_);
    return BlobStore::names();
  }

 private:
  fs::path folder_;
  std::string id_;
};

/// Reads several pages as of one moment; joins a transaction that is open already.
class Snapshot {
 public:
  explicit Snapshot(Connection& connection) {
    if (!connection.inTransaction())
      transaction_.emplace(connection, "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY");
  }
  void end() {
    if (transaction_) transaction_->commit();
  }

 private:
  std::optional<postgres::Transaction> transaction_;
};

class PostgresWrite : public LibraryStore::Write {
 public:
  // A client that was stopped in the middle gives up the lock after a minute, not never.
  explicit PostgresWrite(Connection& connection)
      : transaction_(connection,
                     "BEGIN; SET LOCAL lock_timeout = '60s';"
                     "SET LOCAL idle_in_transaction_session_timeout = '60s';"
                     "SELECT pg_advisory_xact_lock(1213156420)") {}  // kLock
  void commit() override { transaction_.commit(); }

 private:
  postgres::Transaction transaction_;
};

/// Snapshot joins what is open already.
class PostgresMoment : public LibraryStore::Moment {
 public:
  explicit PostgresMoment(Connection& connection) : snapshot_(connection) {
    connection.execute("SELECT 1");  // It begins with what is read first.
  }

 private:
  Snapshot snapshot_;
};

std::vector<std::int32_t> numbersIn(std::string_view text) {
  std::vector<std::int32_t> numbers;
  while (!text.empty()) {
    std::int32_t number = 0;
    const char* const end = text.data() + text.size();
    const char* const after = std::from_chars(text.data(), end, number).ptr;
    numbers.push_back(number);
    text.remove_prefix(
        std::min(text.size(), static_cast<std::size_t>(after - text.data()) + 1));  // And a blank.
  }
  return numbers;
}

void visitEvents(const Rows& rows, const std::function<void(const EventRow&)>& visit) {
  for (int row = 0; row < rows.size(); ++row)
    visit({rows.integer(row, 0), rows.bytes(row, 1), rows.bytes(row, 2), rows.bytes(row, 3),
           rows.bytes(row, 4)});
}

}  // namespace

PostgresStore::PostgresStore(const fs::path& address, std::size_t piece_bytes)
    : address_(address), piece_bytes_(piece_bytes), connection_(borrowConnection(address)) {}

int PostgresStore::schemaVersion() { return static_cast<int>(kPostgresSteps.size()); }

bool PostgresStore::isIn(const fs::path& address) { return PostgresStore(address).version() > 0; }

std::int64_t PostgresStore::oneNumber(const std::string& sql, const Values& values) {
  return connection_->run(sql, values).integer(0, 0);
}

std::vector<std::string> PostgresStore::texts(const std::string& sql, const Values& values) {
  const Rows rows = connection_->run(sql, values);
  std::vector<std::string> found;
  for (int row = 0; row < rows.size(); ++row) found.push_back(rows.text(row, 0));
  return found;
}

/// 0: there is no library.
std::int64_t PostgresStore::version() {
  if (oneNumber("SELECT (to_regclass('holdshelf.meta') IS NOT NULL)::int4") == 0) return 0;
  const auto found = texts("SELECT value FROM meta WHERE key = 'version'");
  return found.empty() ? 0 : std::stoll(found.front());
}

void PostgresStore::migrate(const std::function<void()>& refold) {
  constexpr auto kKnown = static_cast<std::int64_t>(kPostgresSteps.size());
  const auto refuseNewer = [&] {
    throw NewerLibrary("The library " + address_.string() +
                       " was made by a newer program: update holdshelf on this machine.");
  };
  std::int64_t from = version();
  if (from == kKnown) return;
  if (from > kKnown) refuseNewer();
  try {
    const auto transaction = write();
    from = version();  // Another process may have been first.
    if (from > kKnown) refuseNewer();
    if (oneNumber("SELECT (to_regnamespace('holdshelf') IS NULL)::int4") != 0)
      connection_->execute("CREATE SCHEMA holdshelf");
    connection_->execute(kPostgresOwner);
    bool rows_are_old = false;
    for (std::int64_t step = from; step < kKnown; ++step) {
      const PostgresStep& next = kPostgresSteps.at(static_cast<std::size_t>(step));
      connection_->execute(next.sql);
      rows_are_old = rows_are_old || next.refold;
    }
    if (from > 0 && rows_are_old) refold();
    connection_->execute(kPostgresGrants);
    connection_->run(
        "INSERT INTO meta VALUES('version', $1) ON CONFLICT(key) DO UPDATE SET value = $1",
        Values().add(std::to_string(kKnown)));
    transaction->commit();
  } catch (const postgres::Error& error) {
    if (error.state() != kNoPermission) throw;
    throw BadInput("The library " + address_.string() +
                   " has to be made, or brought up to date, by the role that owns it: run any "
                   "holdshelf command with that one first.");
  }
}

std::unique_ptr<Blobs> PostgresStore::blobs() {
  if (version() > 0) {
    const auto folder = texts("SELECT value FROM meta WHERE key = 'files'");
    if (!folder.empty() && !folder.front().empty()) {
      const fs::path here = mountedHere(folder.front());
      auto id = texts("SELECT value FROM meta WHERE key = 'files/id'");
      if (id.empty()) id = markedNow(here);  // An older program made it.
      if (id.empty()) return std::make_unique<BlobStore>(here);
      return std::make_unique<MarkedFiles>(here, id.front());
    }
  }
  return std::make_unique<DatabaseBlobs>(connection_);
}

/// The mark of a folder that has the files of this library, which has named none; nothing where it
/// has not. With the lock. Of a machine that has not mounted the folder, what it stored last may
/// lie under the mount point, so the first batch has to be there, too.
std::vector<std::string> PostgresStore::markOurs(const fs::path& here) {
  const std::vector<std::string> listed = batches();
  const BlobStore files(here);
  if (listed.empty() || !files.has(listed.front()) || !files.has(listed.back())) return {};
  const std::string id = markFolder(here);
  connection_->run("INSERT INTO meta VALUES('files/id', $1)", Values().add(id));
  return {id};
}

/// The same where this login may; else, and while somebody writes, nothing for now.
std::vector<std::string> PostgresStore::markedNow(const fs::path& here) {
  try {
    if (connection_->inTransaction() ||
        oneNumber("SELECT has_table_privilege('meta', 'INSERT')::int4") == 0)
      return {};
    postgres::Transaction transaction(*connection_);
    if (oneNumber("SELECT pg_try_advisory_xact_lock($1)::int4", Values().add(kLock)) == 0)
      return {};
    auto id = texts("SELECT value FROM meta WHERE key = 'files/id'");
    if (id.empty()) id = markOurs(here);
    transaction.commit();
    return id;
  } catch (const BadInput&) {  // The folder cannot be read or written to here.
    return {};
  } catch (const postgres::Error&) {
    if (connection_->isLost()) throw;
    return {};  // One that is only read, say.
  }
}

void PostgresStore::keepFilesIn(const fs::path& folder) {
  const auto transaction = write();
  if (texts("SELECT value FROM meta WHERE key = 'files'") ==
      std::vector<std::string>{folder.string()}) {
    if (!folder.empty() && texts("SELECT value FROM meta WHERE key = 'files/id'").empty())
      (void)markOurs(mountedHere(folder));
    return transaction->commit();
  }
  if (oneNumber("SELECT (EXISTS (SELECT FROM blob) OR EXISTS (SELECT FROM batch))::int4") != 0)
    throw BadInput("The library " + address_.string() +
                   " has files already: where they are kept is chosen while it is empty.");
  connection_->run("INSERT INTO meta VALUES('files', $1) ON CONFLICT(key) DO UPDATE SET value = $1",
                   Values().add(folder.string()));
  connection_->execute("DELETE FROM meta WHERE key = 'files/id'");
  if (!folder.empty())
    connection_->run("INSERT INTO meta VALUES('files/id', $1)",
                     Values().add(markFolder(mountedHere(folder))));
  transaction->commit();
}

std::string PostgresStore::siteOfLogin() {
  const auto bound = texts("SELECT value FROM meta WHERE key = 'site/' || session_user");
  return bound.empty() ? "" : bound.front();
}

std::unique_ptr<LibraryStore::Write> PostgresStore::write() {
  return std::make_unique<PostgresWrite>(*connection_);
}

void PostgresStore::takeLong() {
  connection_->execute("SET LOCAL idle_in_transaction_session_timeout = '1h'");
}

std::unique_ptr<LibraryStore::Moment> PostgresStore::moment() {
  return std::make_unique<PostgresMoment>(*connection_);
}

bool PostgresStore::hasHold(const std::string& id) {
  return !connection_->run("SELECT 1 FROM hold WHERE id = $1", Values().add(id)).empty();
}

std::int64_t PostgresStore::holdCount() { return oneNumber("SELECT count(*) FROM hold"); }

std::int64_t PostgresStore::lastKey() {
  return oneNumber("SELECT coalesce(max(key), 0) FROM hold");
}

std::optional<std::string> PostgresStore::holdBody(const std::string& id) {
  const Rows rows = connection_->run("SELECT body FROM hold WHERE id = $1", Values().add(id));
  if (rows.empty()) return std::nullopt;
  return rows.text(0, 0);
}

std::vector<std::string> PostgresStore::holdIds() {
  return texts("SELECT id FROM hold ORDER BY key");
}

void PostgresStore::forEachHold(HoldPart part, const std::function<void(const HoldRow&)>& visit) {
  const std::string sql =
      "SELECT " + holdColumns(part) + " FROM hold WHERE key > $1 ORDER BY key LIMIT " + kPage;
  Snapshot snapshot(*connection_);
  for (std::int64_t after = 0;;) {
    const Rows rows = connection_->run(sql, Values().add(after));
    if (rows.empty()) break;
    for (int row = 0; row < rows.size(); ++row) visit(holdRow(rows, row));
    after = rows.integer(rows.size() - 1, 0);
  }
  snapshot.end();
}

void PostgresStore::forEachMarked(
    const std::function<void(const std::string&, const std::vector<std::int32_t>&)>& visit) {
  const std::string sql = std::string(
                              "SELECT key, id, array_to_string(marks, ' ') FROM hold WHERE key > "
                              "$1 ORDER BY key LIMIT ") +
                          kPage;
  Snapshot snapshot(*connection_);
  for (std::int64_t after = 0;;) {
    const Rows rows = connection_->run(sql, Values().add(after));
    if (rows.empty()) break;
    for (int row = 0; row < rows.size(); ++row)
      visit(rows.text(row, 1), numbersIn(rows.bytes(row, 2)));
    after = rows.integer(rows.size() - 1, 0);
  }
  snapshot.end();
}

std::int64_t PostgresStore::lastEvent() {
  return oneNumber("SELECT coalesce(max(number), 0) FROM event");
}

void PostgresStore::forEachEvent(const std::function<void(const EventRow&)>& visit,
                                 std::int64_t after) {
  const std::string sql = std::string(
                              "SELECT number, hold, at, who, body FROM event WHERE number > $1 "
                              "ORDER BY number LIMIT ") +
                          kPage;
  Snapshot snapshot(*connection_);
  for (;;) {
    const Rows rows = connection_->run(sql, Values().add(after));
    if (rows.empty()) break;
    visitEvents(rows, visit);
    after = rows.integer(rows.size() - 1, 0);
  }
  snapshot.end();
}

void PostgresStore::forEachEventOf(const std::string& subject,
                                   const std::function<void(const EventRow&)>& visit) {
  visitEvents(connection_->run(
                  "SELECT number, hold, at, who, body FROM event WHERE hold = $1 ORDER BY number",
                  Values().add(subject)),
              visit);
}

std::int64_t PostgresStore::countEventsOf(const std::string& subject) {
  return oneNumber("SELECT count(*) FROM event WHERE hold = $1", Values().add(subject));
}

std::vector<std::string> PostgresStore::subjects(const std::string& prefix) {
  std::string after = prefix;  // The first text behind all that begin so.
  ++after.back();
  return texts(
      "SELECT hold FROM event WHERE hold >= $1 AND hold < $2 GROUP BY hold ORDER BY min(number) "
      "DESC",
      Values().add(prefix).add(after));
}

std::vector<std::string> PostgresStore::batches() {
  return texts("SELECT blob FROM batch ORDER BY number");
}

std::string PostgresStore::lastBatch() {
  const auto last = texts("SELECT blob FROM batch ORDER BY number DESC LIMIT 1");
  return last.empty() ? "" : last.front();
}

/// The first one's number is random, so that a database that was made anew is told from the one
/// before (library_state.h).
void PostgresStore::addBatch(const std::string& blob) {
  connection_->run(
      "INSERT INTO batch(number, blob) "
      "SELECT coalesce(max(number), floor(random() * 1e12)::int8) + 1, $1 FROM batch",
      Values().add(blob));
}

void PostgresStore::addEvents(const std::vector<EventRow>& events) {
  const auto bytes = [](const EventRow& event) {
    return sizeof event.number + event.subject.size() + event.at.size() + event.who.size() +
           event.body.size();
  };
  postgres::inPieces(events, piece_bytes_, bytes,
                     [&](std::span<const EventRow> piece) { addPiece(piece); });
}

void PostgresStore::addPiece(std::span<const EventRow> events) {
  connection_->run(
      "INSERT INTO event(number, hold, at, who, body) SELECT * FROM unnest($1::int8[], $2::text[], "
      "$3::text[], $4::text[], $5::bytea[])",
      Values()
          .add(columnOf(events, &EventRow::number))
          .add(columnOf(events, &EventRow::subject))
          .add(columnOf(events, &EventRow::at))
          .add(columnOf(events, &EventRow::who))
          .addBytes(columnOf(events, &EventRow::body)));
}

void PostgresStore::putHolds(const std::vector<HoldRow>& holds) {
  putHoldRows(*connection_, holds, piece_bytes_);
}

void PostgresStore::clear() {
  connection_->execute("DELETE FROM hold; DELETE FROM event; DELETE FROM batch");
}

/// Tables beside them; what a hold's row says, its events say.
std::string PostgresStore::keepAside() {
  int n = 1;
  const auto name = [&](const char* table) {
    return std::string(table) + "_before_repair_" + std::to_string(n);
  };
  while (oneNumber("SELECT (to_regclass($1) IS NOT NULL)::int4",
                   Values().add("holdshelf." + name("event"))) != 0)
    ++n;
  for (const char* table : {"event", "batch"})
    connection_->execute("CREATE TABLE " + name(table) + " AS TABLE " + table);
  return name("event");
}

/// Where pages have checksums the engine checks them whenever it reads one, and fails the
/// statement; remark() says where they have none.
std::string PostgresStore::damage() { return ""; }

std::string PostgresStore::remark() {
  if (texts("SHOW data_checksums") == std::vector<std::string>{"on"}) return "";
  return "The database server keeps no checksums of its pages, so that a disk that changes one "
         "goes unnoticed by it: have its administrator stop it and run pg_checksums --enable.";
}

std::string siteAt(LibraryStore& store) {
  const std::string named = siteHere();
  auto* const shared = dynamic_cast<PostgresStore*>(&store);
  const std::string bound = shared != nullptr ? shared->siteOfLogin() : "";
  if (!bound.empty() && !named.empty() && bound != named)
    throw BadInput("This login of the library works for the site " + bound +
                   ", and HOLDSHELF_SITE names " + named +
                   ": unset it, or use a login of that site.");
  return bound.empty() ? named : bound;
}

}  // namespace holdshelf
