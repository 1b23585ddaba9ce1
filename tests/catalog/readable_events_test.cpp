// SPDX-License-Identifier: Apache-2.0
#include "catalog/readable_events.h"

#include <doctest/doctest.h>

#include <fstream>
#include <functional>
#include <numeric>

#include "catalog/library.h"
#include "catalog/sqlite_store.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;
namespace fs = std::filesystem;

namespace {

constexpr int kEvents = 40;

/// A library of one hold with notes that fill a page each.
struct Notes {
  TempFolder folder;
  fs::path file = folder / "l" / "holdshelf.sqlite";

  Notes() {
    Library library = Library::openOrCreate(folder / "l");
    Event created;
    created.mutable_created()->set_count(1);
    library.commit({created});
    for (int i = 2; i <= kEvents; ++i) {
      Event note;
      note.set_hold("H-0001");
      note.set_noted(std::string(2500, 'n'));
      library.commit({note});
    }
    library.checkpoint();
  }
  /// Overwrites one of the pages on which the events lie.
  void loseLeaf(const std::string& which) const {
    int page = 0;
    {
      const sqlite::Database database(file, sqlite::Database::Access::ReadOnly);
      sqlite::Statement leaves(database,
                               "SELECT pageno FROM dbstat WHERE name = 'event' AND pagetype = "
                               "'leaf' ORDER BY path LIMIT 1 " +
                                   which);
      REQUIRE(leaves.step());
      page = static_cast<int>(leaves.integer(0));
    }
    std::fstream bytes(file, std::ios::in | std::ios::out | std::ios::binary);
    bytes.seekp(static_cast<std::streamoff>(page - 1) * 4096);
    bytes << std::string(4096, '\0');
  }
  std::vector<std::int64_t> numbers(bool whole, std::int64_t after = 0) const {
    std::vector<std::int64_t> numbers;
    const Library library = Library::open(folder / "l");
    CHECK(forEachReadableEvent(
              library.store(), [&](const Event& event) { numbers.push_back(event.number()); },
              after) == whole);
    return numbers;
  }
};

std::vector<std::int64_t> allBut(std::int64_t first, std::int64_t last) {
  std::vector<std::int64_t> numbers;
  for (std::int64_t i = 1; i <= kEvents; ++i)
    if (i < first || i > last) numbers.push_back(i);
  return numbers;
}

}  // namespace

TEST_CASE("forEachReadableEvent: all of a sound database, or those after one") {
  const Notes notes;
  CHECK(notes.numbers(true) == allBut(0, 0));
  CHECK(notes.numbers(true, 38) == std::vector<std::int64_t>{39, 40});
  CHECK(notes.numbers(true, kEvents).empty());
}

TEST_CASE("forEachReadableEvent: a body that is no event costs that one") {
  const Notes notes;
  for (const char* body : {"x'ff'", "x''"}) {
    sqlite::Database(notes.file, sqlite::Database::Access::ReadWrite)
        .execute(std::string("UPDATE event SET body = ") + body + " WHERE number = 7");
    CHECK(notes.numbers(false) == allBut(7, 7));
  }
}

TEST_CASE("forEachReadableEvent: a damaged page costs what lies on it, not what is behind") {
  const Notes notes;
  notes.loseLeaf("OFFSET 9");
  const auto left = notes.numbers(false);
  REQUIRE(left.size() == kEvents - 1);
  const std::int64_t lost = std::accumulate(left.begin(), left.end(), kEvents * (kEvents + 1) / 2,
                                            std::minus<std::int64_t>());
  CHECK(lost > 1);
  CHECK(lost < kEvents);
  CHECK(left == allBut(lost, lost));
}

TEST_CASE("forEachReadableEvent: with the last page damaged too, what lies between is there") {
  const Notes notes;
  notes.loseLeaf("OFFSET 9");
  notes.loseLeaf(
      "OFFSET (SELECT count(*) - 1 FROM dbstat WHERE name = 'event' AND pagetype = 'leaf')");
  {
    const Library library = Library::open(notes.folder / "l");
    CHECK_THROWS_AS((void)library.lastEvent(), StoreError);
  }
  const auto left = notes.numbers(false);
  REQUIRE(left.size() == kEvents - 2);
  CHECK(left.back() == kEvents - 1);
  CHECK(notes.numbers(false, 38) == std::vector<std::int64_t>{39});
  CHECK(notes.numbers(false, kEvents).empty());
}

TEST_CASE("forEachReadableEvent: a database that fails otherwise is not taken for a damaged one") {
  struct Locked : StoreError {
    using StoreError::StoreError;
  };
  const Notes notes;
  const Library library = Library::open(notes.folder / "l");
  CHECK_THROWS_AS(
      forEachReadableEvent(library.store(), [](const Event&) { throw Locked("locked"); }), Locked);
}

TEST_CASE("forEachReadableEvent: the last number that cannot be read now is no end") {
  struct ReadError : StoreError {
    using StoreError::StoreError;
  };
  struct Failing : SqliteStore {
    using SqliteStore::SqliteStore;
    std::int64_t lastEvent() override { throw ReadError("disk I/O error"); }
  };
  const Notes notes;
  notes.loseLeaf("OFFSET 9");
  Failing store(notes.folder / "l", sqlite::Database::Access::Existing);
  CHECK_THROWS_AS(forEachReadableEvent(store, [](const Event&) {}), ReadError);
}
