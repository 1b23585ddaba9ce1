// SPDX-License-Identifier: Apache-2.0
#include "catalog/crate_holds.h"

#include <doctest/doctest.h>

#include <cmath>
#include <thread>

#include "catalog/climb_record.h"
#include "catalog/climbs.h"
#include "catalog/gym.h"
#include "catalog/library_check.h"
#include "catalog/library_lot.h"
#include "mesh/bad_input.h"
#include "tests/catalog/climb_night.h"
#include "tests/catalog/run_program.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

Library withLots(const TempFolder& folder) {
  Library library = Library::openOrCreate(folder / "l");
  describeGym(library, caveGym());
  addHold(library, "H-0001", "A1", 12);
  addHold(library, "H-0002", "A1");
  Event count;
  count.set_hold("H-0001");
  count.mutable_edited()->add_fields("count");
  count.mutable_edited()->set_count(10);
  library.commit({count});
  startClimb(library, wanted("yellow 12"));
  startClimb(library, wanted("blue 3"));
  return library;
}

}  // namespace

TEST_CASE("crate: two people want one hold at the same moment") {
  TempFolder folder;
  const std::string path = (folder / "l").string();
  {
    Library library = Library::openOrCreate(path);
    describeGym(library, caveGym());
    startClimb(library, wanted("yellow 12"));
    startClimb(library, wanted("blue 3"));
    for (int i = 1; i <= 6; ++i) addHold(library, "H-000" + std::to_string(i), "A1");
  }
  for (int i = 1; i <= 6; ++i) {
    const std::string hold = "H-000" + std::to_string(i);
    ProgramRun first, second;  // Two processes on one library.
    std::thread one([&] { first = runProgram({"crate", "add", "C-0001", hold, "-l", path}); });
    std::thread two([&] { second = runProgram({"crate", "add", "C-0002", hold, "-l", path}); });
    one.join();
    two.join();
    CAPTURE(first.err);
    CAPTURE(second.err);
    CHECK((first.status == 0) != (second.status == 0));
    const ProgramRun& loser = first.status == 0 ? second : first;
    CHECK(loser.status == 1);
    CHECK(isOneSentence(loser.err));
    CHECK(loser.err.find(first.status == 0 ? "C-0001" : "C-0002") != std::string::npos);
    const Library library = Library::open(path);
    CHECK(library.hold(hold).crate() == (first.status == 0 ? "C-0001" : "C-0002"));
    CHECK((heldBy(climbOf(library, "C-0001"), hold) != nullptr) == (first.status == 0));
    CHECK((heldBy(climbOf(library, "C-0002"), hold) != nullptr) == (second.status == 0));
  }
  CHECK(checkLibrary(path, false, {}).faults().empty());
}

TEST_CASE("crate: a lot is shared out over crates and T-nuts, and joined again") {
  TempFolder folder;
  Library library = withLots(folder);
  Climb climb = addPieces(library, "C-0001", {"H-0001"}, 3);
  CHECK(library.hold("H-0001").status() == SHELF);
  CHECK(library.hold("H-0001").count() == 7);
  REQUIRE(climb.holds_size() == 1);
  CHECK(climb.holds(0).hold() == "H-0003");
  CHECK(climb.holds(0).pieces() == 3);
  CHECK(library.hold("H-0003").crate() == "C-0001");
  CHECK(library.hold("H-0003").split_from() == "H-0001");
  CHECK(addPieces(library, "C-0002", {"H-0001"}, 6).holds(0).hold() == "H-0004");
  const std::string few = refusal([&] { addPieces(library, "C-0002", {"H-0001"}, 2); });
  CHECK(few.find("has 1 piece on the shelf now, 2 are wanted") != std::string::npos);
  CHECK(library.hold("H-0001").count() == 1);

  // Each piece has a bolt of its own; seat 12 in 18 mm: 30, as the bolt model has it.
  PickList list = pickList(library, "C-0001");
  REQUIRE(list.bins_size() == 1);
  CHECK(list.bins(0).lines(0).count() == 3);
  CHECK(list.bins(0).lines(0).bolt() == "3 × M10 × 30");
  CHECK(list.bolts().bag(0).count() == 3);

  // Mounted one by one; the others stay in the crate.
  CHECK(placePiece(library, "C-0001", "H-0003", at(1, 1)) == "H-0005");
  CHECK(placePiece(library, "C-0001", "H-0003", at(2, 1, 90)) == "H-0006");
  CHECK(refusal([&] { placeHold(library, "C-0001", "H-0003", at(2, 1)); }).find("H-0006") !=
        std::string::npos);
  climb = climbOf(library, "C-0001");
  CHECK(climb.holds(0).pieces() == 1);
  CHECK(heldBy(climb, "H-0006")->placement().rotation_deg() == 90);
  CHECK(library.hold("H-0005").status() == WALL);
  CHECK(library.hold("H-0005").split_from() == "H-0001");  // The lot, not the crate's part of it.
  CHECK(library.hold("H-0003").status() == CRATE);

  // Dropped unused, they are the lot's again; what hung is not, until a person says so.
  dropHolds(library, "C-0001", {"H-0003", "H-0005"});
  CHECK(library.hold("H-0001").count() == 2);
  CHECK(library.hold("H-0003").status() == RETIRED);
  CHECK(library.hold("H-0005").status() == SHELF);
  CHECK(joinLot(library, "H-0005").count() == 3);
  CHECK_THROWS_AS((void)joinLot(library, "H-0005"), BadInput);
  CHECK_THROWS_AS((void)joinLot(library, "H-0002"), BadInput);
  CHECK_THROWS_AS((void)joinLot(library, "H-0006"), BadInput);  // On the wall.

  // For one hold one piece comes, for a lot's part as many.
  addHolds(library, "C-0001", {"H-0002"});
  climb = swapHold(library, "C-0001", "H-0002", "H-0001", 0);
  CHECK(climb.holds().rbegin()->hold() == "H-0007");
  CHECK(climb.holds().rbegin()->pieces() == 0);
  CHECK(library.hold("H-0001").count() == 2);
  const StripList stripped = stripClimb(library, "C-0002", "shelf");
  CHECK(stripped.climb().state() == Climb::STRIPPED);
  CHECK(library.hold("H-0001").count() == 8);
  CHECK(library.hold("H-0004").status() == RETIRED);
  CHECK(checkLibrary(folder / "l", false, {}).faults().empty());
}

TEST_CASE("crate: two people take pieces of one lot at the same moment") {
  TempFolder folder;
  { (void)withLots(folder); }
  const std::string path = (folder / "l").string();
  ProgramRun first, second;  // 10 pieces: 6 for whoever is first, and not 6 more.
  std::thread one([&] {
    first = runProgram({"crate", "add", "C-0001", "H-0001", "--pieces", "6", "-l", path});
  });
  std::thread two([&] {
    second = runProgram({"crate", "add", "C-0002", "H-0001", "--pieces", "6", "-l", path});
  });
  one.join();
  two.join();
  CHECK((first.status == 0) != (second.status == 0));
  const ProgramRun& loser = first.status == 0 ? second : first;
  CHECK(isOneSentence(loser.err));
  CHECK(loser.err.find("has 4 pieces on the shelf now, 6 are wanted") != std::string::npos);
  CHECK(Library::open(path).hold("H-0001").count() == 4);

  // 2 and 2 of the 4 that are left: both get theirs, under ids of their own.
  std::thread three([&] {
    first = runProgram({"crate", "add", "C-0001", "H-0001", "--pieces", "2", "-l", path});
  });
  std::thread four([&] {
    second = runProgram({"crate", "add", "C-0002", "H-0001", "--pieces", "2", "-l", path});
  });
  three.join();
  four.join();
  CAPTURE(first.err);
  CAPTURE(second.err);
  CHECK(first.status == 0);
  CHECK(second.status == 0);
  CHECK(checkLibrary(path, false, {}).faults().empty());
}

TEST_CASE("crate: of what is said of holds that come in, wish and foot count") {
  TempFolder folder;
  Library library = withLots(folder);
  ClimbHold what;
  what.set_wish(" to\x1b[2J finish ");
  what.set_foot(true);
  what.set_name("another");
  what.set_bolt("M10 × 55");
  what.set_former_bolt("M10 × 50");
  what.set_gone("put back");
  what.set_split_from("H-0001");
  what.set_pieces(7);
  *what.mutable_placement() = at(99, 99, INFINITY);
  Climb climb = addHolds(library, "C-0001", {"H-0002"}, what);
  climb = addPieces(library, "C-0001", {"H-0001"}, 1, what);
  REQUIRE(climb.holds_size() == 2);
  for (const ClimbHold& held : climb.holds()) {
    CHECK(held.wish() == "to[2J finish");
    CHECK(held.foot());
    CHECK(held.name() != "another");
    CHECK(held.bolt().empty());
    CHECK(held.former_bolt().empty());
    CHECK(held.gone().empty());
    CHECK(held.split_from().empty());
    CHECK(held.pieces() == 0);
    CHECK_FALSE(held.has_placement());
  }
  what.set_wish(std::string(201, 'x'));
  CHECK(refusal([&] { addPieces(library, "C-0001", {"H-0001"}, 1, what); }) != "");
}

TEST_CASE("crate: a hold that comes in for another is turned by an angle") {
  TempFolder folder;
  Library library = withLots(folder);
  addHolds(library, "C-0001", {"H-0002"});
  for (double no_angle : {double(NAN), double(INFINITY), 1e308, -360.5}) {
    CAPTURE(no_angle);
    const std::string refused =
        refusal([&] { swapHold(library, "C-0001", "H-0002", "H-0001", no_angle); });
    CHECK(isOneSentence(refused + "\n"));
  }
  CHECK(climbOf(library, "C-0001").holds_size() == 1);
}
