// SPDX-License-Identifier: Apache-2.0
#include "catalog/database_check.h"

#include <doctest/doctest.h>
#include <sqlite3.h>

#include "catalog/sqlite.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

struct Small {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  std::vector<std::string> batches;
  std::vector<Event> events;

  Small() {
    for (const char* name : {"Harbour ledge", "Slipway jug"}) {
      Event created;
      created.mutable_created()->set_name(name);
      library.commit({created});
    }
    batches = library.store().batches();
    library.forEachEvent([&](const Event& event) { events.push_back(event); });
  }
  CheckReport check() const {
    CheckReport report;
    checkDatabase(library, batches, events, report);
    return report;
  }
};

}  // namespace

TEST_CASE("checkDatabase: a whole one has no fault") {
  const Small small;
  CHECK(small.check().faults().empty());
  CHECK(eventsBeyond(small.library, small.events).empty());
}

TEST_CASE("checkDatabase: against other batches each difference is a fault") {
  Small small;
  small.events.pop_back();
  CHECK(small.check().faults_size() == 1);
  const auto beyond = eventsBeyond(small.library, small.events);
  REQUIRE(beyond.size() == 1);
  CHECK(beyond[0].created().name() == "Slipway jug");
  small.batches.pop_back();
  CHECK(small.check().faults_size() == 2);
}

TEST_CASE("checkDatabase: a column that its message does not say") {
  for (const auto& [sql, sentence] :
       {std::pair{"UPDATE hold SET name = 'Other' WHERE id = 'H-0001'", "search knows of H-0001"},
        std::pair{"UPDATE event SET who = 'Robin' WHERE number = 2", "Event 2"},
        std::pair{"DELETE FROM hold WHERE id = 'H-0002'", "H-0002"}}) {
    CAPTURE(sql);
    const Small small;
    sqlite::Database(small.folder / "l" / "holdshelf.sqlite", sqlite::Database::Access::ReadWrite)
        .execute(sql);
    bool said = false;
    const CheckReport report = small.check();
    for (const std::string& fault : report.faults())
      said = said || fault.find(sentence) != std::string::npos;
    CHECK(said);
  }
}

TEST_CASE("checkDatabase: that it fails is not said to be damage") {
  Small small;
  sqlite3_progress_handler(
      small.library.database().handle(), 1, [](void*) { return 1; }, nullptr);
  CHECK_THROWS_AS(small.check(), StoreError);
  sqlite3_progress_handler(small.library.database().handle(), 0, nullptr, nullptr);
  CHECK(small.check().faults().empty());
}

TEST_CASE("eventsBeyond: one that cannot be read costs no other") {
  Small small;
  Event note;
  note.set_hold("H-0001");
  note.set_noted("spins");
  small.library.commit({note});
  sqlite::Database(small.folder / "l" / "holdshelf.sqlite", sqlite::Database::Access::ReadWrite)
      .execute("UPDATE event SET body = x'ff' WHERE number = 2");
  const auto beyond = eventsBeyond(small.library, {small.events[0]});
  REQUIRE(beyond.size() == 1);
  CHECK(beyond[0].noted() == "spins");
}
