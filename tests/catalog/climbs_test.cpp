// SPDX-License-Identifier: Apache-2.0
#include "catalog/climbs.h"

#include <doctest/doctest.h>

#include <thread>

#include "catalog/climb_pick.h"
#include "catalog/climb_record.h"
#include "catalog/gym.h"
#include "catalog/library_check.h"
#include "catalog/library_lot.h"
#include "catalog/pick_pdf.h"
#include "mesh/bad_input.h"
#include "tests/catalog/climb_night.h"
#include "tests/catalog/run_program.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;

TEST_CASE("climbs: from the crate to the wall and down again") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  describeGym(library, caveGym());
  for (const char* id : {"H-0001", "H-0002", "H-0003"})
    addHold(library, id, std::string(id) == "H-0002" ? "A10" : "A2");
  CHECK(startClimb(library, wanted("yellow 12")).id() == "C-0001");
  CHECK(startClimb(library, wanted("blue 3")).id() == "C-0002");
  addHolds(library, "C-0001", {"H-0001", "H-0002"});
  CHECK(library.hold("H-0001").status() == CRATE);

  // What one crate holds another can't have; the sentence says who has it.
  const std::string taken = refusal([&] { addHolds(library, "C-0002", {"H-0003", "H-0001"}); });
  CHECK(isOneSentence(taken + "\n"));
  CHECK(taken.find("C-0001 (yellow 12, Maren)") != std::string::npos);
  CHECK(library.hold("H-0003").status() == SHELF);  // All or none.
  CHECK(refusal([&] { addHolds(library, "C-0001", {"H-0003", "H-0003"}); }) != "");

  const PickList list = pickList(library, "C-0001");
  REQUIRE(list.bins_size() == 2);
  CHECK(list.bins(0).bin() == "A2");  // As one walks, not as letters sort.
  CHECK(list.bins(1).bin() == "A10");
  CHECK(list.bins(0).lines(0).bolt() == "M10 × 40");  // 22 + 18 = 40, as the bolt model has it.
  CHECK(list.bolts().bag(0).count() == 2);

  CHECK(refusal([&] { placeHold(library, "C-0001", "H-0001", at(11, 1)); }) != "");
  CHECK(refusal([&] { placeHold(library, "C-0001", "H-0003", at(1, 1)); }) != "");
  CHECK(refusal([&] { placeHold(library, "C-0001", "H-0001", {}); }) != "");
  placeHold(library, "C-0001", "H-0001", at(4, 7, 30));
  CHECK(library.hold("H-0001").status() == WALL);
  CHECK(library.hold("H-0001").climb() == "C-0001");
  CHECK(library.hold("H-0001").rotation_deg() == 30);
  CHECK(library.hold("H-0001").wall_angle_deg() == 35);
  CHECK(refusal([&] { placeHold(library, "C-0001", "H-0002", at(4, 7)); }).find("H-0001") !=
        std::string::npos);
  CHECK(refusal([&] { openClimb(library, "C-0001"); }).find("H-0002") != std::string::npos);
  noteClimb(library, "C-0001", "H-0001", "turns under the left hand");
  CHECK(refusal([&] { dismissCheck(library, "C-0001", "bolt", "H-0001", " "); }) != "");
  dismissCheck(library, "C-0001", "bolt", "H-0001", "goes in tomorrow");
  recordBolt(library, "C-0001", "H-0001", "M10 × 40");
  // What is not open is not set aside.
  CHECK(isOneSentence(refusal([&] { dismissCheck(library, "C-0001", "bolt", "H-0001", "again"); }) +
                      "\n"));
  // Swapped: the place is handed on, the hold goes back, the dismissal no longer counts.
  Climb climb = swapHold(library, "C-0001", "H-0001", "H-0003", 45);
  CHECK(library.hold("H-0001").status() == SHELF);
  CHECK(library.hold("H-0003").status() == WALL);
  REQUIRE(heldBy(climb, "H-0003") != nullptr);
  CHECK(heldBy(climb, "H-0003")->placement().row() == 7);
  CHECK(heldBy(climb, "H-0003")->bolt().empty());
  CHECK(climb.dismissals(0).outdated());
  CHECK(climb.dismissals(0).reason() == "goes in tomorrow");
  CHECK(climb.dismissals(0).found().find("M10 × 40 is advised") != std::string::npos);
  // The note keeps where the hold was when it was written.
  CHECK(climb.notes(0).placement().row() == 7);
  CHECK(climb.notes(0).placement().rotation_deg() == 30);
  CHECK(climb.notes(0).placement().panel() == "roof");
  CHECK(climbText(climb).find("column 4, row 7 of roof, turned 30°") != std::string::npos);
  placeHold(library, "C-0001", "H-0002", at(1, 1));
  openClimb(library, "C-0001");

  const StripList stripped = stripClimb(library, "C-0001", "wash");
  CHECK(stripped.bins_size() == 2);
  CHECK(library.hold("H-0003").status() == WASH);
  climb = climbOf(library, "C-0001");
  CHECK(climb.state() == Climb::STRIPPED);
  CHECK(climb.holds_size() == 3);  // The record stays.
  CHECK(climb.notes(0).text() == "turns under the left hand");
  CHECK(refusal([&] { addHolds(library, "C-0001", {"H-0001"}); }) != "");
  CHECK(listClimbs(library, false).climbs_size() == 1);
  CHECK(listClimbs(library, true).climbs_size() == 2);
  CHECK(climbHistory(library, "C-0001").events_size() == 11);
  CHECK(checkLibrary(folder / "l", false, {}).faults().empty());
}

TEST_CASE("climbs: panels fixed differently: advice before placement, the bolt after a move") {
  TempFolder folder;
  const std::string path = (folder / "l").string();
  Library library = Library::openOrCreate(path);
  Gym gym = caveGym();
  WallPanel& wall = panelToEdit(zoneToEdit(gym, "cave"), "wall");
  wall = gym.zones(0).panels(0);
  wall.set_name("wall");
  wall.set_columns(5);
  wall.mutable_fixing()->set_panel_mm(24);
  WallPanel& twin = panelToEdit(zoneToEdit(gym, "cave"), "twin");
  twin = gym.zones(0).panels(0);
  twin.set_name("twin");
  twin.set_columns(4);
  describeGym(library, gym);
  addHold(library, "H-0001", "A1");  // Seat 22: 40 on the roof, 22 + 24 = 46, so 50 on the wall.
  startClimb(library, wanted("yellow 12"));
  addHolds(library, "C-0001", {"H-0001"});
  const PickList list = pickList(library, "C-0001");
  CHECK(list.bins(0).lines(0).bolt() == "M10 × 40 on roof, M10 × 50 on wall");
  CHECK(list.bins(0).lines(0).bolt_depends_on_panel());
  REQUIRE(list.bolts().bolts(0).warnings_size() == 1);
  CHECK(list.bolts().bolts(0).warnings(0).find("on wall M10 × 50") != std::string::npos);
  CHECK(pickText(list).find("! H-0001: Not placed yet") != std::string::npos);
  CHECK(pickPdf(list, "A4") != pickPdf(PickList(), "A4"));

  const auto on = [](const std::string& panel) {
    Placement p = at(1, 1);
    p.set_panel(panel);
    return p;
  };
  // Written down in the crate, it was for no other panel: it stays, and is judged where it hangs.
  recordBolt(library, "C-0001", "H-0001", "M10 × 40");
  Climb climb = placeHold(library, "C-0001", "H-0001", on("roof"));
  CHECK(heldBy(climb, "H-0001")->bolt() == "M10 × 40");
  CHECK(heldBy(climb, "H-0001")->former_bolt().empty());
  climb = placeHold(library, "C-0001", "H-0001", on("twin"));  // Fixed alike: kept.
  CHECK(heldBy(climb, "H-0001")->bolt() == "M10 × 40");
  climb = placeHold(library, "C-0001", "H-0001", on("wall"));
  CHECK(heldBy(climb, "H-0001")->bolt().empty());
  CHECK(heldBy(climb, "H-0001")->former_bolt() == "M10 × 40");
  CHECK(climbText(climb).find("M10 × 40 was for another panel") != std::string::npos);
  CHECK(climbChangeText(climbHistory(library, "C-0001").events().rbegin()->climb())
            .find("M10 × 40 no longer counts") != std::string::npos);
  CHECK(pickList(library, "C-0001").bins(0).lines(0).bolt() == "M10 × 50");
  CHECK_FALSE(pickList(library, "C-0001").bins(0).lines(0).bolt_depends_on_panel());
  climb = recordBolt(library, "C-0001", "H-0001", "M10 × 50");
  CHECK(heldBy(climb, "H-0001")->former_bolt().empty());

  // The options of crate bolts count for crate pick as well.
  const auto pick = [&](const std::vector<std::string>& more) {
    std::vector<std::string> words = {"crate", "pick", "C-0001", "-l", path};
    words.insert(words.end(), more.begin(), more.end());
    return runProgram(words).out;
  };
  CHECK(pick({"--bolts", "3/8-16"}).find("never mix") != std::string::npos);
  // 22 + 6.2 + 24 = 52.2.
  CHECK(pick({"--head", "countersunk"}).find("M10 × 55 countersunk") != std::string::npos);
}

TEST_CASE("climbs: a hold without a scan is placed, shown and not judged") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  describeGym(library, caveGym());
  Event created;
  created.set_hold("H-0001");
  created.mutable_created()->set_name("unseen");
  created.mutable_created()->set_status(SHELF);
  library.commit({created});
  startClimb(library, wanted("yellow 12"));
  addHolds(library, "C-0001", {"H-0001"});
  placeHold(library, "C-0001", "H-0001", at(1, 1));
  const ClimbView view = viewClimb(library, "C-0001");
  REQUIRE(view.verdicts_size() == 1);
  CHECK(view.verdicts(0).sentence().find("not judged") != std::string::npos);
  const auto run = runProgram({"climb", "show", "C-0001", "-l", (folder / "l").string()});
  CHECK(run.status == 0);
  CHECK(run.out.find("H-0001: No scan: not judged") != std::string::npos);
}

TEST_CASE("climbs: a hold that went elsewhere is not stripped with the climb") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  describeGym(library, caveGym());
  addHold(library, "H-0001", "A1");
  addHold(library, "H-0002", "A1");
  startClimb(library, wanted("yellow 12"));
  addHolds(library, "C-0001", {"H-0001", "H-0002"});
  Event retired;
  retired.set_hold("H-0001");
  retired.mutable_moved()->set_status(RETIRED);
  library.commit({retired});
  CHECK(refusal([&] { placeHold(library, "C-0001", "H-0001", at(1, 1)); }).find("retired") !=
        std::string::npos);
  const StripList list = stripClimb(library, "C-0001", "shelf");
  CHECK(list.not_here_size() == 1);
  CHECK(library.hold("H-0001").status() == RETIRED);
  CHECK(library.hold("H-0002").status() == SHELF);
}

TEST_CASE("climbs: two people want one hold at the same moment") {
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

TEST_CASE("climbs: a lot is shared out over crates and T-nuts, and joined again") {
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

TEST_CASE("climbs: two people take pieces of one lot at the same moment") {
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
