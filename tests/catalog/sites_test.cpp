// SPDX-License-Identifier: Apache-2.0
// Several sites that share one library: whose a hold is, where it is, and who may say what of it.
#include <doctest/doctest.h>

#include "catalog/ask.h"
#include "catalog/climbs.h"
#include "catalog/crate_holds.h"
#include "catalog/event_text.h"
#include "catalog/find.h"
#include "catalog/gaps.h"
#include "catalog/gym.h"
#include "catalog/hold_record.h"
#include "catalog/library_check.h"
#include "catalog/library_lot.h"
#include "catalog/library_transfer.h"
#include "tests/catalog/climb_night.h"
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

namespace {

/// A lot of twenty pieces of north's, lent to south.
Library lentLot(const std::filesystem::path& folder) {
  Library north = Library::openOrCreate(folder);
  north.actAt("north");
  Event lot = created("H-0001", "Quarry chip");
  lot.mutable_created()->set_count(20);
  north.commit({lot, lent("H-0001", "south")});
  return north;
}

}  // namespace

TEST_CASE("sites: pieces out of a lot that is lent are the lender's, and join it at home") {
  TempFolder folder;
  Library north = lentLot(folder.path());
  Library south = Library::open(folder.path());
  south.actAt("south");
  const Hold piece = splitLot(south, "H-0001", 1);
  CHECK(piece.site() == "north");
  CHECK(standsAt(piece) == "south");
  CHECK_THROWS_AS(south.commit({given(piece.id(), "south")}), BadInput);
  south.commit({moved(piece.id(), WALL)});
  CHECK_THROWS_AS(north.commit({moved(piece.id(), SHELF)}), BadInput);
  south.commit({moved(piece.id(), SHELF)});

  north.commit({returned("H-0001")});  // With 19; the other one is still south.
  for (Library* library : {&north, &south})
    CHECK_THROWS_AS((void)joinLot(*library, piece.id()), BadInput);
  north.commit({returned(piece.id())});
  CHECK(standsAt(north.hold(piece.id())) == "north");
  CHECK(joinLot(north, piece.id()).count() == 20);
  CHECK(north.hold(piece.id()).status() == RETIRED);

  CHECK(splitLot(north, "H-0001", 2).site() == "north");  // At home, nothing is lent.
  CHECK(standsAt(north.hold("H-0003")) == "north");
  CHECK(checkLibrary(folder.path(), false, {}).faults().empty());
}

TEST_CASE("sites: pieces that are dropped join a lot where they are, and none elsewhere") {
  TempFolder folder;
  Library north = lentLot(folder.path());
  Library south = Library::open(folder.path());
  south.actAt("south");
  describeGym(south, caveGym());
  startClimb(south, wanted("yellow 12"));
  addPieces(south, "C-0001", {"H-0001"}, 3);
  dropHolds(south, "C-0001", {"H-0002"});
  CHECK(south.hold("H-0001").count() == 20);
  addPieces(south, "C-0001", {"H-0001"}, 3);
  north.commit({returned("H-0001")});
  dropHolds(south, "C-0001", {"H-0003"});
  CHECK(south.hold("H-0001").count() == 17);
  CHECK(south.hold("H-0003").status() == SHELF);
  CHECK(standsAt(south.hold("H-0003")) == "south");
  south.commit({returned("H-0003")});
  CHECK(joinLot(north, "H-0003").count() == 20);
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
