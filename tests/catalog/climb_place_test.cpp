// SPDX-License-Identifier: Apache-2.0
#include "catalog/climb_place.h"

#include <doctest/doctest.h>

#include <cmath>

#include "catalog/climb_pick.h"
#include "catalog/climb_record.h"
#include "catalog/climbs.h"
#include "catalog/gym.h"
#include "catalog/pick_pdf.h"
#include "tests/catalog/climb_night.h"
#include "tests/catalog/run_program.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;

TEST_CASE("placing: panels fixed differently: advice before placement, the bolt after a move") {
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

TEST_CASE("placing: a hold without a scan is placed, shown and not judged") {
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

TEST_CASE("placing: turned by an angle, with a place that can be shown") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  describeGym(library, caveGym());
  addHold(library, "H-0001", "A1");
  startClimb(library, wanted("yellow 12"));
  addHolds(library, "C-0001", {"H-0001"});
  for (double no_angle : {double(NAN), double(-INFINITY), 1e308, 360.5}) {
    CAPTURE(no_angle);
    const std::string refused =
        refusal([&] { placeHold(library, "C-0001", "H-0001", at(1, 1, no_angle)); });
    CHECK(isOneSentence(refused + "\n"));
  }
  CHECK(library.hold("H-0001").status() == CRATE);
  Placement placement;
  placement.set_rotation_deg(-360);
  placement.set_note(" \x1b \u009b ");
  CHECK(refusal([&] { placeHold(library, "C-0001", "H-0001", placement); }) != "");
  placement.set_note(std::string(201, 'x'));
  CHECK(refusal([&] { placeHold(library, "C-0001", "H-0001", placement); }) != "");
  placement.set_note("on the \u009b31marête");
  const Climb climb = placeHold(library, "C-0001", "H-0001", placement);
  CHECK(climb.holds(0).placement().note() == "on the 31marête");
}
