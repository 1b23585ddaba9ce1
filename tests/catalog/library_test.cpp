// SPDX-License-Identifier: Apache-2.0
#include "catalog/library.h"

#include <doctest/doctest.h>
#include <fcntl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <fstream>
#include <string>
#include <vector>

#include "catalog/hold_record.h"
#include "mesh/bad_input.h"
#include "tests/catalog/library_model.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using holdshelf::test::created;
using holdshelf::test::scanned;
using holdshelf::test::TempFolder;

namespace {

std::size_t filesBelow(const std::filesystem::path& folder) {
  std::size_t count = 0;
  if (std::filesystem::exists(folder))
    for (const auto& entry : std::filesystem::recursive_directory_iterator(folder))
      count += entry.is_regular_file() ? 1 : 0;
  return count;
}

}  // namespace

TEST_CASE("Library: a hold comes back as its events left it, also after reopening") {
  TempFolder folder;
  {
    Library library = Library::openOrCreate(folder.path());
    const auto stored = library.commit({created("", "Quarry ledge", "B4"), scanned("", 31.5)});
    REQUIRE(stored.size() == 2);
    CHECK(stored[0].hold() == "H-0001");
    CHECK(stored[1].hold() == "H-0001");
    CHECK(stored[1].number() == 2);
  }
  const Library library = Library::open(folder.path());
  const Hold hold = library.hold("H-0001");
  CHECK(hold.name() == "Quarry ledge");
  CHECK(hold.bin() == "B4");
  REQUIRE(hold.scans_size() == 1);
  CHECK(hold.scans(0).shape().protrusion_mm().value() == 31.5);
  CHECK(hold.scans(0).shape().sections_size() == 0);
  CHECK(library.currentFullScan("H-0001").shape().sections_size() == 1);
  CHECK(library.history("H-0001").size() == 2);
}

TEST_CASE("Library: an existing id is refused and nothing of the commit is stored") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder.path());
  library.commit({created("H-0007")});
  const std::size_t files = filesBelow(folder.path() / "blobs");
  CHECK_THROWS_AS(library.commit({created("H-0008"), created("H-0007")}), BadInput);
  CHECK_THROWS_AS(library.commit({created("H-0009"), created("H-0009")}), BadInput);
  CHECK(library.size() == 1);
  CHECK_FALSE(library.has("H-0008"));
  CHECK(library.lastEvent() == 1);
  CHECK(filesBelow(folder.path() / "blobs") == files);
  CHECK(library.commit({created("")}).front().hold() == "H-0002");
}

/// Whether this process holds SQLite's shared lock on a file, as another process sees it: the 510
/// bytes from 0x40000002 (SQLite's os.h: PENDING_BYTE, SHARED_FIRST, SHARED_SIZE).
bool heldByUs(const std::filesystem::path& file) {
  const pid_t child = fork();
  if (child == 0) {
    const int handle = ::open(file.c_str(), O_RDWR | O_CLOEXEC);
    struct flock range = {};
    range.l_type = F_WRLCK;
    range.l_whence = SEEK_SET;
    range.l_start = 0x40000002;
    range.l_len = 510;
    const bool asked = handle >= 0 && fcntl(handle, F_GETLK, &range) == 0;
    _exit(asked && range.l_type != F_UNLCK ? 0 : 1);
  }
  int status = -1;
  waitpid(child, &status, 0);
  return status == 0;
}

TEST_CASE("Library: opening it once more in a process leaves the locks of the first in place") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder.path());
  library.commit({created("H-0001")});
  REQUIRE(heldByUs(folder / "holdshelf.sqlite"));
  { CHECK(Library::open(folder.path()).has("H-0001")); }
  CHECK(heldByUs(folder / "holdshelf.sqlite"));
}

TEST_CASE("Library: an unknown id is refused with the nearest one") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder.path());
  library.commit({created("H-0001")});
  CHECK_THROWS_WITH_AS(library.hold("H-0010"), doctest::Contains("did you mean H-0001?"), BadInput);
  CHECK_THROWS_WITH_AS(library.hold("ledge"), doctest::Contains("holdshelf find"), BadInput);
  CHECK_THROWS_AS(library.commit({scanned("H-0002", 1)}), BadInput);
}

TEST_CASE("Library: nothing is suggested for what is too long to be an id") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder.path());
  const std::string longest(64, 'x');
  library.commit({created(longest)});
  library.commit({created(longest + "yz")});
  CHECK_THROWS_WITH_AS(library.hold(longest.substr(1) + "z"), doctest::Contains("did you mean"),
                       BadInput);
  CHECK_THROWS_WITH_AS(library.hold(longest + "y"), doctest::Contains("holdshelf find"), BadInput);
}

TEST_CASE("Library: a folder without one is refused, and nothing is made there") {
  TempFolder folder;
  CHECK_THROWS_AS(Library::open(folder / "none"), BadInput);
  CHECK(filesBelow(folder.path()) == 0);
}

TEST_CASE("Library: a file of a newer program is left alone") {
  TempFolder folder;
  { Library::openOrCreate(folder.path()); }
  {
    sqlite::Database database(folder / "holdshelf.sqlite", sqlite::Database::Access::ReadWrite);
    database.execute("PRAGMA user_version = 99");
  }
  CHECK_THROWS_WITH_AS(Library::open(folder.path()), doctest::Contains("newer program"), BadInput);
}

TEST_CASE("Library: a file of an older program is brought up to date by opening it") {
  TempFolder folder;
  Hold whole;
  std::string row;
  const auto searchOf = [](const Library& library) {
    sqlite::Statement statement(library.database(), "SELECT search FROM hold WHERE id = 'H-0001'");
    REQUIRE(statement.step());
    return std::string(statement.blob(0));
  };
  {
    Library library = Library::openOrCreate(folder.path());
    library.commit({created("H-0001", "Quarry ledge", "B4"), scanned("H-0001", 31.5)});
    whole = library.hold("H-0001");
    row = searchOf(library);
  }
  {
    sqlite::Database database(folder / "holdshelf.sqlite", sqlite::Database::Access::ReadWrite);
    // Rows as no program of today writes them.
    database.execute(
        "UPDATE hold SET search = x'01', body = x'', bin = ''; ALTER TABLE hold DROP COLUMN site;"
        "PRAGMA user_version = 1");
  }
  const Library library = Library::open(folder.path());
  CHECK(library.hold("H-0001").SerializeAsString() == whole.SerializeAsString());
  CHECK(searchOf(library) == row);
  sqlite::Statement version(library.database(), "PRAGMA user_version");
  REQUIRE(version.step());
  CHECK(version.integer(0) == Library::schemaVersion());
}

TEST_CASE("Library: every cut of the database file is refused or read whole, never half") {
  TempFolder folder;
  {
    Library library = Library::openOrCreate(folder.path());
    library.commit({created("H-0001", "a"), scanned("H-0001", 12)});
    library.checkpoint();
  }
  const std::string whole = readFile(folder / "holdshelf.sqlite");
  for (std::size_t size = 0; size < whole.size(); size += 1 + whole.size() / 97) {
    CAPTURE(size);
    TempFolder cut;
    std::ofstream(cut / "holdshelf.sqlite", std::ios::binary)
        .write(whole.data(), static_cast<std::streamsize>(size));
    try {
      const Library library = Library::open(cut.path());
      // An empty file is a new library; a page-aligned cut may still open.
      if (library.has("H-0001")) CHECK(library.hold("H-0001").name() == "a");
    } catch (const BadInput&) {
    } catch (const sqlite::Error&) {
    }
  }
}

TEST_CASE("Library: the state at a date") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder.path());
  Event made = created("H-0001"), moved;
  made.set_at("2031-01-10T10:00:00.000Z");
  moved.set_hold("H-0001");
  moved.set_at("2031-02-01T10:00:00.000Z");
  moved.mutable_moved()->set_status(WALL);
  moved.mutable_moved()->set_zone("slab");
  library.commit({made, moved});
  const auto events = library.history("H-0001");
  CHECK_FALSE(holdAsOf(events, "2031-01-09T23:59:59.999Z"));
  CHECK(holdAsOf(events, "2031-01-31T23:59:59.999Z")->status() == SHELF);
  CHECK(holdAsOf(events, "2031-02-01T23:59:59.999Z")->zone() == "slab");
  CHECK(library.hold("H-0001").status() == WALL);
}

TEST_CASE("Library: 10 000 random operations against an in-memory model, with reopening") {
  TempFolder folder;
  holdshelf::test::runRandomOperations([&] { return Library::openOrCreate(folder.path()); },
                                       10'000);
}
