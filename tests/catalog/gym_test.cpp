// SPDX-License-Identifier: Apache-2.0
#include "catalog/gym.h"

#include <doctest/doctest.h>

#include <functional>

#include "catalog/blob_store.h"
#include "catalog/console.h"
#include "catalog/rescan.h"
#include "mesh/bad_input.h"
#include "tests/catalog/run_program.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

Gym demoGym() {
  const std::string file = HOLDSHELF_SOURCE_DIR "/testdata/demo/gym.json";
  Gym gym;
  fromJson(readFile(file), file, gym);
  return gym;
}

Event moved(Status status, const std::string& at, const std::string& climb = "") {
  Event event;
  event.set_at(at);
  event.mutable_moved()->set_status(status);
  event.mutable_moved()->set_climb(climb);
  return event;
}

}  // namespace

TEST_CASE("gym: the demo's is valid and survives being stored") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  CHECK(gymOf(library).zones().empty());
  describeGym(library, demoGym());
  CHECK(toJson(gymOf(library)) == toJson(demoGym()));
  CHECK(mainPanel(zoneNamed(demoGym(), "harbour wave")).name() == "wave lower");
}

TEST_CASE("gym: described while a clock was ahead, it is what was described after that") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  Event event;
  event.set_subject("gym");
  *event.mutable_gym() = demoGym();
  event.set_at("2099-01-01T20:00:00.000Z");
  library.commit({event});
  for (const char* name : {"Harbour", "Quay"}) {
    Gym gym = demoGym();
    gym.set_name(name);
    describeGym(library, gym);
    CHECK(gymOf(library).name() == name);
  }
}

TEST_CASE("gym: impossible values are refused in one sentence and not stored") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  const std::vector<std::function<void(WallPanel&)>> spoilers = {
      [](WallPanel& p) { p.set_wall_angle_deg(95); },
      [](WallPanel& p) { p.set_wall_angle_deg(-40); },
      [](WallPanel& p) { p.mutable_fixing()->set_panel_mm(2); },
      [](WallPanel& p) { p.mutable_fixing()->set_barrel_mm(25); },
      [](WallPanel& p) { p.mutable_fixing()->set_flange_mm(-1); },
      [](WallPanel& p) { p.mutable_fixing()->set_thread(THREAD_UNSPECIFIED); },
      [](WallPanel& p) { p.set_columns(0); },
      [](WallPanel& p) { p.set_rows(5000); },
      [](WallPanel& p) { p.set_pitch_mm(5); },
      [](WallPanel& p) { p.set_name(""); },
      [](WallPanel& p) { p.set_name("wave top"); },
      [](WallPanel& p) { p.mutable_features(0)->set_kind(WallFeature::KIND_UNSPECIFIED); },
      [](WallPanel& p) { p.mutable_features(0)->set_at_mm(-99999); },
  };
  for (std::size_t i = 0; i < spoilers.size(); ++i) {
    CAPTURE(i);
    Gym gym = demoGym();
    spoilers[i](*gym.mutable_zones(0)->mutable_panels(0));
    std::string sentence;
    try {
      describeGym(library, gym);
    } catch (const BadInput& refused) {
      sentence = refused.what();
    }
    CAPTURE(sentence);
    CHECK(isOneSentence(sentence + "\n"));
  }
  CHECK(library.lastEvent() == 0);
}

TEST_CASE("gym: the panel with most T-nuts, however many are said; none without a panel") {
  Zone zone;  // As an older library may have it from elsewhere.
  zone.set_name("cave");
  CHECK_THROWS_WITH_AS((void)mainPanel(zone), doctest::Contains("cave has no panel"), BadInput);
  for (const int side : {50'000, 40'000, 65'536}) {
    WallPanel& panel = *zone.add_panels();
    panel.set_columns(side);
    panel.set_rows(side);
  }
  CHECK(mainPanel(zone).columns() == 65'536);  // Whose square is 0 in 32 bits.
}

TEST_CASE("gym: near a top edge is counted along the panel from the T-nut") {
  const Gym gym = demoGym();
  const WallPanel& top = panelNamed(zoneNamed(gym, "harbour wave"), "wave top");
  Placement placement;
  placement.set_column(1);
  placement.set_row(4);  // 3 x 150 = 450 mm up; the edge is at 900.
  REQUIRE(nearTop(gym, top, placement));
  CHECK(nearTop(gym, top, placement)->below_mm == 450);
  placement.set_row(3);  // 600 mm below: beyond 500.
  CHECK_FALSE(nearTop(gym, top, placement));
  CHECK_THROWS_AS(checkTnut(top, 13, 1), BadInput);
  CHECK_THROWS_AS(checkTnut(top, 1, 0), BadInput);
}

TEST_CASE("rescan: days on the wall add up, a new scan starts anew") {
  Gym gym;
  gym.set_rescan_days(30);
  gym.set_rescan_climbs(3);
  std::vector<Event> events = {moved(WALL, "2031-01-01T00:00:00.000Z", "C-1"),
                               moved(WALL, "2031-01-05T00:00:00.000Z", "C-1"),
                               moved(WASH, "2031-01-21T00:00:00.000Z"),
                               moved(WALL, "2031-03-01T12:00:00.000Z", "C-2")};
  const RescanDue early = rescanDue(events, gym, "2031-03-02T12:00:00.000Z");
  CHECK(early.days_on_wall == doctest::Approx(21));  // 20 and 1.
  CHECK(early.climbs == 2);                          // Turned once, still one climb.
  CHECK_FALSE(early.due);
  CHECK(rescanDue(events, gym, "2031-03-12T12:00:00.000Z").due);
  Event scan;
  scan.set_at("2031-03-05T12:00:00.000Z");
  scan.mutable_scanned();
  events.push_back(scan);
  const RescanDue anew = rescanDue(events, gym, "2031-03-12T12:00:00.000Z");
  CHECK(anew.days_on_wall == doctest::Approx(7));
  CHECK_FALSE(anew.due);
}

TEST_CASE("gym: described from the command line") {
  TempFolder folder;
  const std::string l = (folder / "l").string();
  CHECK(runProgram({"gym", "panel", "cave", "roof", "-l", l, "--wall-angle", "35"}).status == 1);
  const ProgramRun made = runProgram(
      {"gym",       "panel",       "cave",   "roof",     "-l",      l,          "--wall-angle",
       "35",        "--thickness", "18",     "--barrel", "11",      "--thread", "M10",
       "--columns", "10",          "--rows", "8",        "--pitch", "200"});
  CAPTURE(made.err);
  REQUIRE(made.status == 0);
  REQUIRE(
      runProgram({"gym", "feature", "cave", "roof", "lip", "--top-edge", "1600", "-l", l}).status ==
      0);
  const ProgramRun shown = runProgram({"gym", "show", "-l", l, "--json"});
  Gym gym;
  fromJson(shown.out, "gym show", gym);
  CHECK(gym.zones(0).panels(0).features(0).at_mm() == 1600);
  // Not from under a climb: neither the zone nor the panel its hold is on; the others may go.
  for (const char* panel : {"wall", "slab"})
    REQUIRE(runProgram({"gym",      "panel",        "cave",     panel,         "-l",
                        l,          "--wall-angle", "5",        "--thickness", "18",
                        "--barrel", "11",           "--thread", "M10",         "--columns",
                        "10",       "--rows",       "8",        "--pitch",     "200"})
                .status == 0);
  REQUIRE(runProgram({"crate", "start", "--name", "blue 2", "--zone", "cave", "-l", l}).status ==
          0);
  const ProgramRun refused = runProgram({"gym", "remove", "cave", "-l", l});
  CHECK(refused.status == 1);
  CHECK(refused.err.find("C-0001 blue 2 is in zone cave: strip it") != std::string::npos);
  REQUIRE(
      runProgram({"shelve", HOLDSHELF_SOURCE_DIR "/testdata/demo/evening/quay_crimp.ply", "-l", l})
          .status == 0);
  REQUIRE(runProgram({"crate", "add", "C-0001", "H-0001", "-l", l}).status == 0);
  REQUIRE(runProgram({"climb", "place", "C-0001", "H-0001", "--panel", "wall", "--column", "2",
                      "--row", "2", "-l", l})
              .status == 0);
  const ProgramRun kept = runProgram({"gym", "remove", "cave", "wall", "-l", l});
  CHECK(kept.status == 1);
  CHECK(kept.err.find("wall") != std::string::npos);
  CHECK(runProgram({"gym", "remove", "cave", "slab", "-l", l}).status == 0);
  REQUIRE(runProgram({"climb", "strip", "C-0001", "-l", l}).status == 0);
  CHECK(runProgram({"gym", "remove", "cave", "-l", l}).status == 0);
  CHECK(gymOf(Library::open(l)).zones().empty());
}
