// SPDX-License-Identifier: Apache-2.0
#include "catalog/sqlite_store.h"

#include "catalog/library.h"
#include "catalog/sqlite_schema.h"
#include "mesh/open_file.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

constexpr const char* kFileName = "holdshelf.sqlite";

[[noreturn]] void refuseNewer(const fs::path& folder) {
  throw NewerLibrary("The library " + folder.string() +
                     " was made by a newer program: update holdshelf on this machine, or, if none "
                     "is newer, move its holdshelf.sqlite away and run holdshelf check --repair, "
                     "which makes it anew.");
}

[[noreturn]] void refuseDamaged() {
  throw sqlite::ForeignTables(0, "what says who made its database is damaged");
}

/// Looks at the version before the library is opened, so that not even a journal appears beside a
/// newer one. By SQLite, never by a stream of our own: when a process closes any handle of a file,
/// POSIX drops all locks that it has on it, and a server's other threads would write unlocked.
/// Source: sqlite.org/howtocorrupt.html, section 2.2.
void refuseNewerFile(const fs::path& folder) {
  if (!SqliteStore::isIn(folder)) return;
  bool damaged = false, too_new = false;
  try {
    const sqlite::Database frozen(folder / kFileName, sqlite::Database::Access::Frozen);
    damaged = isDamagedSqlite(frozen);
    too_new = isNewerSqlite(frozen);
  } catch (const sqlite::Error&) {
    return;  // Opening it says what is wrong.
  }
  if (damaged) refuseDamaged();
  if (too_new) refuseNewer(folder);
}

sqlite::Database openDatabase(const fs::path& folder, sqlite::Database::Access access) {
  refuseNewerFile(folder);
  sqlite::Database database(folder / kFileName, access);
  database.execute(
      "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;"
      "PRAGMA foreign_keys = ON;");
  return database;
}

class SqliteWrite : public LibraryStore::Write {
 public:
  /// Who waited here for a repair may have opened the file that it has set aside: what is written
  /// to that is in no library.
  explicit SqliteWrite(sqlite::Database& database) : transaction_(database) {
    if (database.hasMoved())
      throw StoreError("another database has taken its place since it was opened; try again");
  }
  void commit() override { transaction_.commit(); }

 private:
  sqlite::Transaction transaction_;
};

/// What is read in it is read of one state of the file; writers go on in its log.
class SqliteMoment : public LibraryStore::Moment {
 public:
  explicit SqliteMoment(sqlite::Database& database) : database_(database) {
    database_.execute("BEGIN");
    try {
      database_.execute(
          "SELECT count(*) FROM sqlite_master");  // It begins with what is read first.
    } catch (const sqlite::Error&) {
      end();
      throw;
    }
  }
  ~SqliteMoment() override { end(); }
  SqliteMoment(const SqliteMoment&) = delete;
  SqliteMoment& operator=(const SqliteMoment&) = delete;

 private:
  void end() {
    try {
      database_.execute("ROLLBACK");
    } catch (const sqlite::Error&) {  // A failure has ended it.
    }
  }

  sqlite::Database& database_;
};

std::int64_t oneNumber(const sqlite::Database& database, const char* sql) {
  sqlite::Statement statement(database, sql);
  statement.step();
  return statement.integer(0);
}

void visitEvents(sqlite::Statement& statement, const std::function<void(const EventRow&)>& visit) {
  while (statement.step())
    visit({statement.integer(0), statement.blob(1), statement.blob(2), statement.blob(3),
           statement.blob(4)});
}

std::vector<std::string> texts(const sqlite::Database& database, const char* sql) {
  std::vector<std::string> found;
  sqlite::Statement statement(database, sql);
  while (statement.step()) found.push_back(statement.text(0));
  return found;
}

std::optional<double> realOrNone(const sqlite::Statement& statement, int column) {
  if (statement.isNull(column)) return std::nullopt;
  return statement.real(column);
}

const char* columnsOf(LibraryStore::HoldPart part) {
  switch (part) {
    case LibraryStore::HoldPart::Search:
      return "search, NULL";
    case LibraryStore::HoldPart::Body:
      return "NULL, body";
    case LibraryStore::HoldPart::All:
      break;
  }
  return "search, body";
}

}  // namespace

int SqliteStore::schemaVersion() { return static_cast<int>(kSqliteSteps.size()); }

bool SqliteStore::isIn(const fs::path& folder) { return fs::exists(folder / kFileName); }

SqliteStore::SqliteStore(const fs::path& folder, sqlite::Database::Access access)
    : folder_(folder), database_(openDatabase(folder, access)) {}

void SqliteStore::migrate(const std::function<void()>& refold) {
  if (isCurrentSqlite(database_)) return;
  sqlite::Transaction transaction(database_);
  if (isDamagedSqlite(database_)) refuseDamaged();
  if (isNewerSqlite(database_)) refuseNewer(folder_);  // Another process may have been first.
  migrateSqlite(database_, refold);
  transaction.commit();
}

std::unique_ptr<LibraryStore::Write> SqliteStore::write() {
  return std::make_unique<SqliteWrite>(database_);
}

std::unique_ptr<LibraryStore::Moment> SqliteStore::moment() {
  return std::make_unique<SqliteMoment>(database_);
}

bool SqliteStore::hasHold(const std::string& id) {
  return sqlite::Statement(database_, "SELECT 1 FROM hold WHERE id = ?").bind(1, id).step();
}

std::int64_t SqliteStore::holdCount() { return oneNumber(database_, "SELECT count(*) FROM hold"); }

std::optional<std::string> SqliteStore::holdBody(const std::string& id) {
  sqlite::Statement statement(database_, "SELECT body FROM hold WHERE id = ?");
  if (!statement.bind(1, id).step()) return std::nullopt;
  return std::string(statement.blob(0));
}

std::int64_t SqliteStore::lastKey() {
  return oneNumber(database_, "SELECT coalesce(max(key), 0) FROM hold");
}

std::vector<std::string> SqliteStore::holdIds() {
  return texts(database_, "SELECT id FROM hold ORDER BY key");
}

void SqliteStore::forEachHold(HoldPart part, const std::function<void(const HoldRow&)>& visit) {
  sqlite::Statement row(database_,
                        std::string("SELECT key, id, status, name, bin, set_name, colour, site, "
                                    "protrusion_mm, width_mm, height_mm, volume_mm3, ") +
                            columnsOf(part) + " FROM hold ORDER BY key");
  while (row.step())
    visit({row.integer(0), row.blob(1), static_cast<int>(row.integer(2)), row.blob(3), row.blob(4),
           row.blob(5), row.blob(6), row.blob(7), realOrNone(row, 8), realOrNone(row, 9),
           realOrNone(row, 10), realOrNone(row, 11), row.blob(12), row.blob(13)});
}

std::int64_t SqliteStore::lastEvent() {
  return oneNumber(database_, "SELECT coalesce(max(number), 0) FROM event");
}

void SqliteStore::forEachEvent(const std::function<void(const EventRow&)>& visit,
                               std::int64_t after) {
  // Not "number > ?": that reads the page of the one before, too, which may be damaged.
  sqlite::Statement statement(
      database_, "SELECT number, hold, at, who, body FROM event WHERE number >= ? ORDER BY number");
  statement.bind(1, after + 1);
  visitEvents(statement, visit);
}

void SqliteStore::forEachEventOf(const std::string& subject,
                                 const std::function<void(const EventRow&)>& visit) {
  sqlite::Statement statement(
      database_, "SELECT number, hold, at, who, body FROM event WHERE hold = ? ORDER BY number");
  statement.bind(1, subject);
  visitEvents(statement, visit);
}

std::int64_t SqliteStore::countEventsOf(const std::string& subject) {
  sqlite::Statement statement(database_, "SELECT count(*) FROM event WHERE hold = ?");
  statement.bind(1, subject).step();
  return statement.integer(0);
}

std::vector<std::string> SqliteStore::subjects(const std::string& prefix) {
  std::string after = prefix;  // The first text behind all that begin so.
  ++after.back();
  std::vector<std::string> found;
  sqlite::Statement statement(database_,
                              "SELECT hold, min(number) FROM event WHERE hold >= ? AND hold < ? "
                              "GROUP BY hold ORDER BY min(number) DESC");
  statement.bind(1, prefix).bind(2, after);
  while (statement.step()) found.push_back(statement.text(0));
  return found;
}

std::vector<std::string> SqliteStore::batches() {
  return texts(database_, "SELECT blob FROM batch ORDER BY number");
}

std::string SqliteStore::lastBatch() {
  sqlite::Statement statement(database_, "SELECT blob FROM batch ORDER BY number DESC LIMIT 1");
  return statement.step() ? statement.text(0) : "";
}

/// The first one's number is random, so that a database that was made anew is told from the one
/// before (library_state.h).
void SqliteStore::addBatch(const std::string& blob) {
  sqlite::Statement(database_,
                    "INSERT INTO batch(number, blob) "
                    "SELECT coalesce(max(number), abs(random() % 1000000000000)) + 1, ? FROM batch")
      .bind(1, blob)
      .run();
}

void SqliteStore::addEvents(const std::vector<EventRow>& events) {
  sqlite::Statement insert(database_,
                           "INSERT INTO event(number, hold, at, who, body) VALUES(?,?,?,?,?)");
  for (const EventRow& event : events)
    insert.bind(1, event.number)
        .bind(2, event.subject)
        .bind(3, event.at)
        .bind(4, event.who)
        .bindBlob(5, event.body)
        .run();
}

void SqliteStore::putHolds(const std::vector<HoldRow>& holds) {
  sqlite::Statement put(
      database_,
      "INSERT INTO hold(id, status, name, bin, set_name, colour, protrusion_mm, width_mm, "
      "height_mm, volume_mm3, search, body, site) "
      "VALUES(?1,?2,?3,?4,?5,?6,?7,?8,?9,?10,?11,?12,?13) "
      "ON CONFLICT(id) DO UPDATE SET status=?2, name=?3, bin=?4, set_name=?5, colour=?6, "
      "protrusion_mm=?7, width_mm=?8, height_mm=?9, volume_mm3=?10, search=?11, body=?12, "
      "site=?13");
  for (const HoldRow& hold : holds) {
    put.bind(1, hold.id)
        .bind(2, hold.status)
        .bind(3, hold.name)
        .bind(4, hold.bin)
        .bind(5, hold.set)
        .bind(6, hold.colour)
        .bindBlob(11, hold.search)
        .bindBlob(12, hold.body)
        .bind(13, hold.site);
    if (hold.protrusion_mm) put.bind(7, *hold.protrusion_mm);
    if (hold.width_mm) put.bind(8, *hold.width_mm);
    if (hold.height_mm) put.bind(9, *hold.height_mm);
    if (hold.volume_mm3) put.bind(10, *hold.volume_mm3);
    put.run();
  }
}

void SqliteStore::clear() {
  for (const char* table : {"hold", "event", "batch"})
    sqlite::Statement(database_, std::string("DELETE FROM ") + table).run();
}

/// A file beside it. Read by another connection, as one that writes cannot be copied: that sees
/// what was there before.
std::string SqliteStore::keepAside() {
  const fs::path file = folder_ / kFileName;
  fs::path aside;
  for (int n = 1; aside.empty() || fs::exists(aside); ++n)
    aside = file.string() + ".before-repair-" + std::to_string(n);
  std::error_code ignored;
  try {
    sqlite::Database(file, sqlite::Database::Access::ReadOnly).backUp(aside);
    syncFolder(folder_);
  } catch (const sqlite::Error&) {
    fs::remove(aside, ignored);
    throw;
  } catch (const std::system_error& failure) {
    fs::remove(aside, ignored);
    throw StoreError(failure.what());
  }
  return aside.filename().string();
}

std::string SqliteStore::damage() {
  sqlite::Statement integrity(database_, "PRAGMA integrity_check");
  return integrity.step() && integrity.text(0) != "ok" ? integrity.text(0) : "";
}

}  // namespace holdshelf
