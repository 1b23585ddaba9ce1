// SPDX-License-Identifier: Apache-2.0
#include "catalog/climbs.h"

#include <doctest/doctest.h>

#include <thread>

#include "catalog/climb_change.h"
#include "catalog/climb_pick.h"
#include "catalog/climb_place.h"
#include "catalog/climb_record.h"
#include "catalog/crate_holds.h"
#include "catalog/gym.h"
#include "catalog/hold_record.h"
#include "catalog/library_check.h"
#include "catalog/library_lot.h"
#include "catalog/pick_pdf.h"
#include "mesh/bad_input.h"
#include "tests/catalog/climb_night.h"
#include "tests/catalog/run_program.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;

TEST_CASE("climbs: begun while a clock was ahead, they have what was done since it was set right") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  describeGym(library, caveGym());
  for (const char* id : {"H-0001", "H-0002"}) addHold(library, id, "A2");
  ClimbChange start;
  *start.mutable_started() = wanted("yellow 12");
  start.mutable_started()->set_id("C-0001");
  Event started = climbEvent("C-0001", start);
  started.set_at("2099-01-01T20:00:00.000Z");
  library.commit({started});

  CHECK(heldBy(addHolds(library, "C-0001", {"H-0001", "H-0002"}), "H-0001") != nullptr);
  placeHold(library, "C-0001", "H-0001", at(1, 1));
  dropHolds(library, "C-0001", {"H-0002"});
  const Climb climb = climbOf(library, "C-0001");
  REQUIRE(heldBy(climb, "H-0001") != nullptr);
  CHECK(heldBy(climb, "H-0001")->has_placement());
  CHECK(heldBy(climb, "H-0002") == nullptr);
  CHECK(climb.version() == library.lastEvent());
  // In the order in which it was done, at any date.
  std::string before;
  const EventList history = climbHistory(library, "C-0001");
  for (const Event& event : history.events()) {
    CHECK(event.at() >= before);
    before = event.at();
  }
}

TEST_CASE("climbs: what older programs wrote with earlier times is in the climb again") {
  // As it lies in a library from before: the start has the latest time of all.
  ClimbChange start, add;
  start.mutable_started()->set_id("C-0001");
  add.mutable_added()->set_hold("H-0001");
  std::vector<Event> events = {climbEvent("C-0001", start), climbEvent("C-0001", add)};
  events[0].set_at("2031-05-04T20:00:00.000Z");
  events[1].set_at("2031-05-04T18:01:00.000Z");
  events[0].set_number(7);
  events[1].set_number(8);
  std::vector<Event> ordered;
  for (const Event* event : inOrder(events)) ordered.push_back(*event);
  const Climb climb = foldClimb(ordered);
  CHECK(heldBy(climb, "H-0001") != nullptr);
  CHECK(climb.version() == 8);
}

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

TEST_CASE("climbs: a check that is looked at for long keeps nobody from the climb meanwhile") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l"), other = Library::open(folder / "l");
  describeGym(library, caveGym());
  addHold(library, "H-0001", "A2");
  startClimb(library, wanted("yellow 12"));
  addHolds(library, "C-0001", {"H-0001"});
  std::size_t known = 0;
  const auto unlessChanged = [&](const std::vector<Event>& so_far) {
    if (known == 0) known = so_far.size();
    if (so_far.size() > known) throw BadInput("Somebody was first.");
  };
  const auto dismiss = [&](const Progress& progress) {
    known = 0;
    return refusal([&] {
      dismissCheck(library, "C-0001", "place", "H-0001", "soon", progress, unlessChanged);
    });
  };
  CHECK(dismiss([&](const std::string&, double) {
          recordBolt(other, "C-0001", "H-0001", "M10 × 55");
          return true;
        }) == "Somebody was first.");
  CHECK_THROWS_AS(dismiss([](const std::string&, double) { return false; }), Interrupted);
  CHECK(climbOf(library, "C-0001").dismissals().empty());
  CHECK(dismiss([](const std::string&, double) { return true; }).empty());
  CHECK(climbOf(library, "C-0001").dismissals_size() == 1);
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

TEST_CASE("climbs: what people write can be shown, and has an end") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  describeGym(library, caveGym());
  addHold(library, "H-0001", "A1");
  Climb hostile = wanted(" yellow\x1b[31m 12 ");
  hostile.set_colour("yel\u0085low");
  hostile.set_grade(
      "6\x07"
      "b");
  hostile.set_setter("Ma\u009bren\n");
  Climb climb = startClimb(library, hostile);
  CHECK(climb.name() == "yellow[31m 12");
  CHECK(climb.colour() == "yellow");
  CHECK(climb.grade() == "6b");
  CHECK(climb.setter() == "Maren");
  CHECK(refusal([&] { startClimb(library, wanted(" \x1b ")); }).find("needs a name") !=
        std::string::npos);
  const std::string too_long(5000, 'x');
  for (const auto set :
       {&Climb::set_name<const std::string&>, &Climb::set_colour<const std::string&>,
        &Climb::set_grade<const std::string&>, &Climb::set_setter<const std::string&>}) {
    Climb endless = wanted("yellow 13");
    (endless.*set)(too_long);
    CHECK(isOneSentence(refusal([&] { startClimb(library, endless); }) + "\n"));
  }
  CHECK(listClimbs(library, true).climbs_size() == 1);

  addHolds(library, "C-0001", {"H-0001"});
  placeHold(library, "C-0001", "H-0001", at(1, 1));
  climb = noteClimb(library, "C-0001", "H-0001", "spins\n\x1b]0;x\x07tight\u0090ened");
  CHECK(climb.notes(0).text() == "spins\n]0;xtightened");
  climb = dismissCheck(library, "C-0001", "bolt", "H-0001", "\x1b[8mto\u009cmorrow");
  CHECK(climb.dismissals(0).reason() == "[8mtomorrow");
  climb = recordBolt(library, "C-0001", "H-0001", "M10 \x1b× 40\u0080");
  CHECK(climb.holds(0).bolt() == "M10 × 40");
  CHECK(refusal([&] { recordBolt(library, "C-0001", "H-0001", std::string(81, 'x')); }) != "");
  CHECK(refusal([&] { recordBolt(library, "C-0001", "H-0001", " \x1b"); }) != "");
  CHECK(refusal([&] { noteClimb(library, "C-0001", "", too_long); }) != "");
  CHECK(refusal([&] { noteClimb(library, "C-0001", "", "\u009b"); }) != "");
  CHECK(refusal([&] {
          dismissCheck(library, "C-0001", "feet", "H-0001", "\u009b");
        }).find("with a reason") != std::string::npos);
}
