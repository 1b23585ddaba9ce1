// SPDX-License-Identifier: Apache-2.0
// Suggestions, checks and swaps on solids of exactly known shape.
#include "catalog/climb_checks.h"

#include <doctest/doctest.h>

#include <cmath>

#include "catalog/climb_record.h"
#include "catalog/climbs.h"
#include "catalog/edge_at.h"
#include "catalog/gym.h"
#include "catalog/hold_record.h"
#include "catalog/mesh_intake.h"
#include "catalog/mounting.h"
#include "catalog/suggest.h"
#include "catalog/swaps.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

/// The demo's evening holds (tests/bench/evening_holds_bench.cpp says their dimensions).
struct Evening {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");

  Evening() {
    Gym gym;
    Zone& zone = zoneToEdit(gym, "wave");
    for (const char* name : {"lower", "top"}) {
      WallPanel& panel = panelToEdit(zone, name);
      panel.set_wall_angle_deg(std::string(name) == "lower" ? 20 : 5);
      panel.mutable_fixing()->set_thread(M10);
      panel.mutable_fixing()->set_panel_mm(18);
      panel.mutable_fixing()->set_barrel_mm(11);
      panel.set_columns(10);
      panel.set_rows(std::string(name) == "lower" ? 10 : 6);
      panel.set_pitch_mm(150);
    }
    WallFeature& edge = *panelToEdit(zone, "top").add_features();
    edge.set_name("top-out");
    edge.set_kind(WallFeature::TOP_EDGE);
    edge.set_at_mm(900);
    describeGym(library, gym);
    Climb climb;
    climb.set_name("green 1");
    climb.set_zone("wave");
    climb.set_colour("green");
    startClimb(library, climb);
  }

  void shelve(const std::string& id, const std::string& file, const std::string& colour = "green") {
    IntakeLabels labels;
    labels.id = id;
    labels.name = file;
    labels.bin = "A1";
    shelveMesh(folder / "l", HOLDSHELF_SOURCE_DIR "/testdata/demo/evening/" + file + ".ply", labels,
               colour, [](const std::string&, double) { return true; });
  }

  void place(const std::string& hold, const std::string& panel, int row, double rotation_deg = 0) {
    Placement placement;
    placement.set_panel(panel);
    placement.set_column(3);
    placement.set_row(row);
    placement.set_rotation_deg(rotation_deg);
    placeHold(library, "C-0001", hold, placement);
    recordBolt(library, "C-0001", hold, "M10 × 40");
  }
};

const ClimbCheck* find(const ClimbChecks& checks, const std::string& kind,
                       const std::string& hold) {
  for (const ClimbCheck& check : checks.checks())
    if (check.kind() == kind && check.hold() == hold) return &check;
  return nullptr;
}

}  // namespace

TEST_CASE("climb checks: a shelved mesh has the dimensions it was built with") {
  Evening e;
  e.shelve("H-0001", "quay_crimp");
  const Hold hold = e.library.hold("H-0001");
  const Grip* edge = edgeAt(currentScan(hold)->shape(), 0);
  REQUIRE(edge != nullptr);
  CHECK(std::abs(edge->edge_depth_mm().value() - 15) < 0.3);
  CHECK(std::abs(edge->incut_deg().value() - 12) < 1.5);
  REQUIRE(currentScan(hold)->shape().bolt_seats_size() == 1);
  CHECK(std::abs(currentScan(hold)->shape().bolt_seats(0).seat_height_mm().value() - 14) < 0.3);
  CHECK(hold.colour().name() == "green");
}

TEST_CASE("climb checks: a grabbable foot and a top-out platform, cured by what is offered") {
  Evening e;
  e.shelve("H-0001", "gravel_step");
  e.shelve("H-0002", "shingle_chip");
  e.shelve("H-0003", "bollard_high");
  e.shelve("H-0004", "bollard_low");
  e.shelve("H-0005", "bollard_low", "red");
  ClimbHold foot;
  foot.set_foot(true);
  addHolds(e.library, "C-0001", {"H-0001"}, foot);
  addHolds(e.library, "C-0001", {"H-0003"});
  e.place("H-0001", "lower", 2);
  e.place("H-0003", "top", 6);

  ClimbChecks checks = checkClimb(e.library, "C-0001");
  const ClimbCheck* feet = find(checks, "feet", "H-0001");
  REQUIRE(feet != nullptr);
  CHECK(feet->reason().find("of a jug") != std::string::npos);
  REQUIRE_FALSE(feet->cures().empty());
  const ClimbCheck* top = find(checks, "top-out", "H-0003");
  REQUIRE(top != nullptr);
  CHECK(top->reason().find("150 mm below top-out") != std::string::npos);  // 900 - 5 x 150.
  REQUIRE(top->cures_size() == 1);  // The red one is not of the climb's colour.
  CHECK(top->cures(0).swap() == "H-0004");

  swapHold(e.library, "C-0001", "H-0003", "H-0004", top->cures(0).rotation_deg());
  const Cure cure = feet->cures(0);
  if (cure.swap().empty())
    e.place("H-0001", "lower", 2, cure.rotation_deg());
  else
    swapHold(e.library, "C-0001", "H-0001", cure.swap(), cure.rotation_deg());
  checks = checkClimb(e.library, "C-0001");
  for (const ClimbCheck& check : checks.checks()) {
    CHECK(check.kind() != "feet");
    CHECK(check.kind() != "top-out");
  }
  CHECK(find(checks, "bolt", "H-0004") != nullptr);  // Swapped in: not recorded yet.

  dismissCheck(e.library, "C-0001", "bolt", "H-0004", "goes in tomorrow");
  const int open = checks.open();
  checks = checkClimb(e.library, "C-0001");
  CHECK(checks.open() == open - 1);
  CHECK(find(checks, "bolt", "H-0004")->dismissed().reason() == "goes in tomorrow");
}

TEST_CASE("swaps: the same lip, lower; none is explained") {
  Evening e;
  e.shelve("H-0001", "bollard_high");
  e.shelve("H-0002", "bollard_low");
  e.shelve("H-0003", "buoy");
  addHolds(e.library, "C-0001", {"H-0001"});
  e.place("H-0001", "top", 5);
  const SwapList lower = findSwaps(e.library, "C-0001", "H-0001", "lower");
  REQUIRE(lower.offers_size() == 1);
  CHECK(lower.offers(0).hold() == "H-0002");
  CHECK(angleBetween_deg(lower.offers(0).rotation_deg(), 0) <= 10);  // Built with that lip at 0.
  CHECK(lower.offers(0).changes(0).find("protrusion") == 0);
  const SwapList none = findSwaps(e.library, "C-0001", "H-0001", "foot");
  for (const SwapOffer& offer : none.offers()) CHECK(offer.toe_fraction() >= 0.35);
  const SwapList harder = findSwaps(e.library, "C-0001", "H-0001", "harder");
  CHECK(harder.offers_size() + static_cast<int>(!harder.explanation().empty()) >= 1);
}

TEST_CASE("suggest: what fits, once each, and only from the shelf") {
  Evening e;
  e.shelve("H-0001", "quay_crimp");
  e.shelve("H-0002", "pier_crimp");
  e.shelve("H-0003", "slipway_jug");
  e.shelve("H-0004", "slipway_jug", "red");
  const std::string wishes = "two incut crimps, one jug, a spread of sizes";
  Suggestions s = suggestHolds(e.library, "C-0001", wishes);
  CHECK(s.considered() == 3);
  std::string offered;
  for (const WishOffers& offers : s.wishes())
    for (const Offer& offer : offers.chosen()) offered += offer.hold() + " ";
  CAPTURE(suggestText(s));
  REQUIRE(s.wishes_size() == 2);
  CHECK(s.wishes(1).chosen_size() == 1);
  CHECK(s.wishes(1).chosen(0).hold() == "H-0003");
  CHECK(offered.find("H-0004") == std::string::npos);
  addHolds(e.library, "C-0001", {"H-0003"});
  s = suggestHolds(e.library, "C-0001", wishes);
  CHECK(s.taken() == 1);
  CHECK(s.wishes(1).chosen().empty());
  CHECK_FALSE(s.wishes(1).shortfall().empty());
}
