// SPDX-License-Identifier: Apache-2.0
#include "catalog/sqlite_schema.h"

namespace holdshelf {
namespace {

constexpr int kStatementError = 1;  // SQLITE_ERROR; a full disk or a failing one is another.
constexpr int kApplicationId = 0x484f4c44;  // "HOLD": tells our files from other SQLite files.

std::int64_t pragma(const sqlite::Database& database, const char* name) {
  sqlite::Statement statement(database, std::string("PRAGMA ") + name);
  return statement.step() ? statement.integer(0) : 0;
}

void runStep(sqlite::Database& database, const char* step) {
  try {
    database.execute(step);
  } catch (const sqlite::Error& failure) {
    if (failure.code() != kStatementError) throw;
    throw sqlite::ForeignTables(failure.code(), failure.what());
  }
}

}  // namespace

const std::array<const char*, 3> kSqliteSteps = {
    R"sql(
CREATE TABLE batch(
  number INTEGER PRIMARY KEY,
  blob TEXT NOT NULL                -- SHA-256 of the Batch message
);
CREATE TABLE event(
  number INTEGER PRIMARY KEY,
  hold TEXT NOT NULL,
  at TEXT NOT NULL,
  who TEXT NOT NULL,
  body BLOB NOT NULL                -- Event message
);
CREATE INDEX event_hold ON event(hold, number);
CREATE TABLE hold(
  key INTEGER PRIMARY KEY,
  id TEXT NOT NULL UNIQUE,
  status INTEGER NOT NULL,
  name TEXT NOT NULL,
  bin TEXT NOT NULL,
  set_name TEXT NOT NULL,
  colour TEXT NOT NULL,
  protrusion_mm REAL,
  width_mm REAL,
  height_mm REAL,
  volume_mm3 REAL,
  search BLOB NOT NULL,             -- measured numbers, packed (catalog/search_row.h)
  body BLOB NOT NULL                -- Hold message
);
CREATE INDEX hold_bin ON hold(bin);
CREATE INDEX hold_set ON hold(set_name);
CREATE INDEX hold_colour ON hold(colour);
CREATE INDEX hold_status ON hold(status);
CREATE INDEX hold_protrusion ON hold(protrusion_mm);
CREATE INDEX hold_volume ON hold(volume_mm3);
)sql",
    "",  // 2: hold rows gained lips and mountings to search by; migrateSqlite() folds them anew.
    "ALTER TABLE hold ADD COLUMN site TEXT NOT NULL DEFAULT ''"};

bool isCurrentSqlite(const sqlite::Database& database) {
  return pragma(database, "user_version") == static_cast<std::int64_t>(kSqliteSteps.size());
}

bool isNewerSqlite(const sqlite::Database& database) {
  const std::int64_t version = pragma(database, "user_version");
  return version > static_cast<std::int64_t>(kSqliteSteps.size()) ||
         (version > 0 && pragma(database, "application_id") != kApplicationId);
}

bool isDamagedSqlite(const sqlite::Database& database) {
  const std::int64_t version = pragma(database, "user_version");
  const bool known = version > 0 && version <= static_cast<std::int64_t>(kSqliteSteps.size());
  return version < 0 || (known && pragma(database, "application_id") != kApplicationId);
}

void migrateSqlite(sqlite::Database& database, const std::function<void()>& refold) {
  const std::int64_t version = pragma(database, "user_version");
  for (auto step = static_cast<std::size_t>(version); step < kSqliteSteps.size(); ++step)
    runStep(database, kSqliteSteps.at(step));
  if (version > 0) refold();  // An older program's rows.
  database.execute("PRAGMA application_id = " + std::to_string(kApplicationId) +
                   "; PRAGMA user_version = " + std::to_string(kSqliteSteps.size()));
}

}  // namespace holdshelf
