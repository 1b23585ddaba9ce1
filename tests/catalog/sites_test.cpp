// SPDX-License-Identifier: Apache-2.0
// Several sites that share one library: whose a hold is, where it is, and who may say what of it.
#include <doctest/doctest.h>

#include "catalog/ask.h"
#include "catalog/event_text.h"
#include "catalog/find.h"
#include "catalog/gaps.h"
#include "catalog/hold_record.h"
#include "catalog/library_check.h"
#include "catalog/library_transfer.h"
#include "tests/catalog/environment.h"
#include "tests/catalog/library_model.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

Event about(const std::string& id) {
  Event event;
  event.set_hold(id);
  return event;
}

Event lent(const std::string& id, const std::string& to) {
  Event event = about(id);
  event.mutable_sited()->set_lent_to(to);
  return event;
}

Event given(const std::string& id, const std::string& to) {
  Event event = about(id);
  event.mutable_sited()->set_given_to(to);
  return event;
}

Event returned(const std::string& id) {
  Event event = about(id);
  event.mutable_sited()->set_returned(true);
  return event;
}

Event moved(const std::string& id, Status status) {
  Event event = about(id);
  event.mutable_moved()->set_status(status);
  return event;
}

Event noted(const std::string& id) {
  Event event = about(id);
  event.set_noted("seen");
  return event;
}

}  // namespace

TEST_CASE("sites: a hold is lent, comes back, and is given away, with its history") {
  TempFolder folder;
  Library north = Library::openOrCreate(folder.path());
  north.actAt("north");
  Library south = Library::open(folder.path());
  south.actAt("south");
  north.commit({created("H-0001", "Quarry ledge")});
  CHECK(north.hold("H-0001").site() == "north");

  north.commit({lent("H-0001", "south")});
  CHECK(standsAt(north.hold("H-0001")) == "south");
  CHECK(north.hold("H-0001").site() == "north");
  south.commit({moved("H-0001", WALL)});
  south.commit({returned("H-0001")});
  CHECK(standsAt(north.hold("H-0001")) == "north");
  north.commit({given("H-0001", "south")});
  CHECK(south.hold("H-0001").site() == "south");
  CHECK(standsAt(south.hold("H-0001")) == "south");

  std::string history;
  for (const Event& event : south.history("H-0001")) history += eventText(event) + "\n";
  CHECK(history.find("is lent to the site south") != std::string::npos);
  CHECK(history.find("is back at its site") != std::string::npos);
  CHECK(history.find("belongs to the site south") != std::string::npos);
  // At any date.
  const auto events = south.history("H-0001");
  CHECK(standsAt(*holdAsOf({events[0], events[1]})) == "south");
  CHECK(checkLibrary(folder.path(), false, {}).faults().empty());
}

TEST_CASE("sites: who may say what: where it stands, whose it is, and everybody else") {
  // Rows: the event; then whether the site where it stands, the one whose it is, and another may.
  struct Case {
    const char* what;
    Event event;
    bool stands, owns, other;
  };
  Event edited;
  edited.set_hold("H-0001");
  edited.mutable_edited()->add_fields("name");
  edited.mutable_edited()->set_name("Ledge");
  const Case cases[] = {{"note", noted("H-0001"), true, true, true},
                        {"move", moved("H-0001", CRATE), true, false, false},
                        {"edit", edited, true, true, false},
                        {"return", returned("H-0001"), true, true, false},
                        {"lend on", lent("H-0001", "east"), true, true, false},
                        {"give", given("H-0001", "east"), false, true, false}};
  for (const Case& c : cases)
    for (const auto& [site, may] : {std::pair("south", c.stands), std::pair("north", c.owns),
                                    std::pair("east", c.other), std::pair("", true)}) {
      CAPTURE(std::string(c.what));
      CAPTURE(std::string(site));
      TempFolder folder;
      Library library = Library::openOrCreate(folder.path());
      library.actAt("north");
      library.commit({created("H-0001"), lent("H-0001", "south")});
      library.actAt(site);
      if (may) {
        CHECK_NOTHROW(library.commit({c.event}));
      } else {
        CHECK_THROWS_AS(library.commit({c.event}), BadInput);
        CHECK(library.lastEvent() == 2);
      }
    }
}

TEST_CASE("sites: one site's machine mends and brings over what the others have said") {
  TempFolder folder;
  {
    Library library = Library::openOrCreate(folder / "l");
    library.actAt("north");
    library.commit({created("H-0001", "Quarry ledge"), lent("H-0001", "south")});
    library.actAt("south");
    library.commit({created("H-0002")});
    library.commit({moved("H-0001", WALL)});  // Not for north to say now.
  }
  const Environment site("HOLDSHELF_SITE", "north");
  {
    Library north = Library::open(folder / "l");
    CHECK_THROWS_AS(north.commit({moved("H-0001", SHELF)}), BadInput);
    Library there = Library::openOrCreate(folder / "t");
    there.actAt("east");
    CHECK(transferLibrary(north, there, {}).holds() == 2);
    CHECK(there.hold("H-0001").status() == WALL);
    CHECK(standsAt(there.hold("H-0001")) == "south");
  }
  for (const char* damage :
       {"UPDATE hold SET site = 'east' WHERE id = 'H-0001'",
        "UPDATE hold SET body = x'' WHERE id = 'H-0002'", "DELETE FROM hold"}) {
    CAPTURE(std::string(damage));
    {
      sqlite::Database database(folder / "l" / "holdshelf.sqlite",
                                sqlite::Database::Access::ReadWrite);
      database.execute(damage);
    }
    CHECK_FALSE(checkLibrary(folder / "l", false, {}).faults().empty());
    CHECK(checkLibrary(folder / "l", true, {}).repaired());
    CHECK(checkLibrary(folder / "l", false, {}).faults().empty());
    CHECK(Library::open(folder / "l").size() == 2);
    CHECK(Library::open(folder / "l").hold("H-0001").status() == WALL);
  }
  // Nothing was set aside: the database that was there was mended.
  for (const auto& entry : std::filesystem::directory_iterator(folder / "l"))
    CHECK(entry.path().filename().string().find("damaged") == std::string::npos);
}

TEST_CASE("sites: each sees its own shelf first; one may ask for some sites only") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder.path());
  for (const char* site : {"south", "north", "south", "north"}) {
    library.actAt(site);
    library.commit({created("")});
  }
  library.actAt("south");
  library.commit({lent("H-0003", "north")});
  const SearchIndex index(library);
  const auto found = [&](const Query& query) {
    std::string ids;
    const FindResult result = ask(library, index, query);
    for (const FindHit& hit : result.hits()) ids += hit.id() + hit.site() + " ";
    return ids;
  };
  Query query;
  CHECK(found(query) == "H-0001south H-0002north H-0003north H-0004north ");
  query.set_site("north");
  CHECK(found(query) == "H-0002north H-0003north H-0004north H-0001south ");
  query.set_limit(2);
  CHECK(found(query) == "H-0002north H-0003north ");
  query.add_sites("south");
  CHECK(found(query) == "H-0001south ");
  query.set_sites(0, "west");
  const FindResult none = ask(library, index, query);
  CHECK(none.hits().empty());
  REQUIRE(none.nearest_misses_size() > 0);
  CHECK(none.nearest_misses(0).excluded_by(0).find("is in site") != std::string::npos);
}

TEST_CASE("sites: stock is counted over all of them or at some") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder.path());
  for (const char* site : {"south", "north", "south"}) {
    library.actAt(site);
    library.commit({created("")});
  }
  CHECK(stockOf(library, {}, {}).holds() == 3);
  CHECK(stockOf(library, {}, {}, {}, [](const Hold& hold) {
          return standsAt(hold) == "south";
        }).holds() == 2);
}
