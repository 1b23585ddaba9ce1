// SPDX-License-Identifier: Apache-2.0
#include "catalog/sqlite_schema.h"

#include <doctest/doctest.h>

#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

sqlite::Database databaseIn(const TempFolder& folder) {
  return {folder / "some.sqlite", sqlite::Database::Access::ReadWrite};
}

}  // namespace

TEST_CASE("sqlite schema: an empty file takes all steps and has no rows to fold") {
  const TempFolder folder;
  sqlite::Database database = databaseIn(folder);
  CHECK_FALSE(isCurrentSqlite(database));
  CHECK_FALSE(isNewerSqlite(database));
  int folded = 0;
  migrateSqlite(database, [&] { ++folded; });
  CHECK(folded == 0);
  CHECK(isCurrentSqlite(database));
  CHECK_FALSE(isNewerSqlite(database));
  sqlite::Statement columns(database, "SELECT count(*) FROM pragma_table_info('hold')");
  CHECK(columns.step());
  CHECK(columns.integer(0) == 14);  // Thirteen of version 1, and the site.
}

TEST_CASE("sqlite schema: an older file takes the steps it lacks, its rows are made anew") {
  const TempFolder folder;
  sqlite::Database database = databaseIn(folder);
  database.execute(kSqliteSteps[0]);
  database.execute("PRAGMA application_id = 1213156420; PRAGMA user_version = 1");  // "HOLD"
  CHECK_FALSE(isCurrentSqlite(database));
  CHECK_FALSE(isNewerSqlite(database));
  int folded = 0;
  migrateSqlite(database, [&] { ++folded; });
  CHECK(folded == 1);
  CHECK(isCurrentSqlite(database));
}

TEST_CASE("sqlite schema: a later version or another program's file is newer") {
  const TempFolder folder;
  sqlite::Database database = databaseIn(folder);
  migrateSqlite(database, [] {});
  database.execute("PRAGMA user_version = 99");
  CHECK(isNewerSqlite(database));
  CHECK_FALSE(isCurrentSqlite(database));
  database.execute("PRAGMA user_version = 3; PRAGMA application_id = 7");
  CHECK(isNewerSqlite(database));
}

TEST_CASE("sqlite schema: a known version of another program, or none that there is, is damage") {
  const TempFolder folder;
  sqlite::Database database = databaseIn(folder);
  CHECK_FALSE(isDamagedSqlite(database));  // Empty.
  migrateSqlite(database, [] {});
  CHECK_FALSE(isDamagedSqlite(database));
  database.execute("PRAGMA application_id = 7");
  CHECK(isDamagedSqlite(database));
  database.execute("PRAGMA user_version = 99");  // Somebody's whom this program does not know.
  CHECK_FALSE(isDamagedSqlite(database));
  database.execute("PRAGMA user_version = -2147483645");
  CHECK(isDamagedSqlite(database));
}

TEST_CASE("sqlite schema: a step that does not fit what is there is damage, a full disk is none") {
  const TempFolder folder;
  sqlite::Database database = databaseIn(folder);
  migrateSqlite(database, [] {});
  database.execute("PRAGMA user_version = 2");
  try {
    migrateSqlite(database, [] {});
    FAIL("the column is there already");
  } catch (const sqlite::Error& failure) {
    CHECK(failure.isDamage());
  }
  const TempFolder other;
  sqlite::Database small = databaseIn(other);
  small.execute("PRAGMA max_page_count = 3");
  try {
    migrateSqlite(small, [] {});
    FAIL("there is no room");
  } catch (const sqlite::Error& failure) {
    CHECK_FALSE(failure.isDamage());
  }
}
