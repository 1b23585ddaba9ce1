// SPDX-License-Identifier: Apache-2.0
#include "catalog/swaps.h"

#include <doctest/doctest.h>

#include <cmath>

#include "catalog/ask.h"
#include "catalog/edge_at.h"
#include "catalog/grip_map.h"
#include "catalog/hold_record.h"
#include "catalog/mounting.h"
#include "tests/catalog/evening.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

ExactHold edge(double depth_mm, double width_mm, double protrusion_mm = 38,
               double lip_radius_mm = 4) {
  EdgeSpec spec;
  spec.depth_mm = depth_mm;
  spec.width_mm = width_mm;
  spec.protrusion_mm = protrusion_mm;
  spec.lip_radius_mm = lip_radius_mm;
  return edgeHold(spec);
}

GripCell cellAt(const Library& library, const std::string& id, double rotation_deg) {
  return *lookUp(currentScan(library.hold(id))->grip_map(), {rotation_deg, 20, 0});
}

}  // namespace

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
  const auto cautions = [](const SwapList& list) {
    std::string all;
    for (const std::string& caution : list.cautions()) all += caution + "\n";
    return all;
  };
  CHECK(cautions(lower).find("safe to top out") != std::string::npos);
  for (const char* words : {"hand feel and the maker's torque", "standards in force",
                            "qualified people", "never force", "bolt anew"})
    CHECK(cautions(lower).find(words) != std::string::npos);
  // Nothing here serves as a foot: both are offered less reach than they may have.
  const SwapList none = findSwaps(e.library, "C-0001", "H-0001", "foot");
  CHECK(none.offers().empty());
  CHECK(none.explanation().find("None of 2 holds") != std::string::npos);
}

TEST_CASE("swaps: as a foot, less grabbable") {
  Evening e;
  e.shelve("H-0001", "gravel_step");
  e.shelve("H-0002", "shingle_chip");
  e.shelve("H-0003", "slipway_jug");
  ClimbHold foot;
  foot.set_foot(true);
  addHolds(e.library, "C-0001", {"H-0001"}, foot);
  e.place("H-0001", "lower", 2);
  const SwapList list = findSwaps(e.library, "C-0001", "H-0001", "foot");
  REQUIRE(list.offers_size() == 1);  // A jug is no cure for a foot that can be grabbed.
  const SwapOffer& chip = list.offers(0);
  CHECK(chip.hold() == "H-0002");
  const GripCell old = cellAt(e.library, "H-0001", 0);
  const GripCell now = cellAt(e.library, "H-0002", chip.rotation_deg());
  const GripThresholds t;
  CHECK(now.reach < old.reach);
  CHECK(now.reach <= t.too_grabbable);
  CHECK(now.toe >= t.toe_fraction);
  CHECK(std::abs(chip.toe_fraction() - now.toe) < 1e-9);
  bool stand = false;
  for (const std::string& caution : list.cautions())
    stand = stand || caution.find("stand on it") != std::string::npos;
  CHECK(stand);
}

TEST_CASE("swaps: the same lip, lower: ranked and told in mm as search by example does") {
  Evening e;
  e.shelveSolid("H-0001", edge(20, 90, 50));
  e.shelveSolid("H-0002", edge(20, 90, 40, 6));  // 2 mm more of lip radius.
  e.shelveSolid("H-0003", edge(20, 90, 40));     // The very lip.
  e.shelveSolid("H-0004", edge(20, 40, 40));     // The lip, but not half as wide.
  e.shelveSolid("H-0005", edge(20, 90, 60));     // The lip, but not lower.
  addHolds(e.library, "C-0001", {"H-0001"});
  e.place("H-0001", "lower", 5);
  const SwapList list = findSwaps(e.library, "C-0001", "H-0001", "lower");
  REQUIRE(list.offers_size() == 2);
  CHECK(list.offers(0).hold() == "H-0003");
  CHECK(list.offers(1).hold() == "H-0002");
  CHECK(list.offers(0).lip_gap_mm() < 0.15);
  // The lip moves from radius 4 to 6: its arc's middle by 2 (sqrt 2 - 1) = 0.83 mm at the most.
  CHECK(list.offers(1).lip_gap_mm() > list.offers(0).lip_gap_mm() + 0.05);
  CHECK(list.offers(1).lip_gap_mm() < 0.83);
  CHECK(list.offers(0).changes().rbegin()->find("mm from it") != std::string::npos);
  Query query;
  query.mutable_lip()->set_like("H-0001");
  query.mutable_lip()->set_like_rotation_deg(0);
  query.add_statuses(SHELF);
  const FindResult asked = ask(e.library, SearchIndex(e.library), query);
  int compared = 0;
  for (const FindHit& hit : asked.hits())
    for (const SwapOffer& offer : list.offers())
      if (hit.id() == offer.hold()) {
        CHECK(std::abs(hit.lip().gap_mm() - offer.lip_gap_mm()) < 1e-4);
        ++compared;
      }
  CHECK(compared == 2);
}

TEST_CASE("swaps: the same feel, smaller") {
  Evening e;
  e.shelveSolid("H-0001", edge(20, 140));
  e.shelveSolid("H-0002", edge(20, 100));  // Four fingers have room on both.
  e.shelveSolid("H-0003", edge(12, 100));
  e.shelveSolid("H-0004", edge(20, 138));  // As large.
  e.shelveSolid("H-0005", domeHold(60, 30));
  addHolds(e.library, "C-0001", {"H-0001"});
  e.place("H-0001", "lower", 5);
  const SwapList list = findSwaps(e.library, "C-0001", "H-0001", "smaller");
  REQUIRE_FALSE(list.offers().empty());
  CHECK(list.offers(0).hold() == "H-0002");
  const GripCell old = cellAt(e.library, "H-0001", 0);
  CHECK(std::abs(list.offers(0).hand_fraction() - old.hand) < 0.05);
  for (const SwapOffer& offer : list.offers()) {
    CHECK(offer.hold() != "H-0004");
    CHECK(offer.hold() != "H-0005");
    const Hold hold = e.library.hold(offer.hold());
    CHECK(currentScan(hold)->shape().longest_extent_mm().value() < 0.9 * 141);
    CHECK(cellAt(e.library, offer.hold(), offer.rotation_deg()).kind == old.kind);
  }
}

TEST_CASE("swaps: one notch worse for the hand") {
  Evening e;
  e.shelveSolid("H-0001", edge(20, 100));
  e.shelveSolid("H-0002", edge(24, 100));
  e.shelveSolid("H-0003", edge(15, 100));
  e.shelveSolid("H-0004", edge(11, 100));
  addHolds(e.library, "C-0001", {"H-0001"});
  e.place("H-0001", "lower", 5);
  const SwapList list = findSwaps(e.library, "C-0001", "H-0001", "harder");
  const GripCell old = cellAt(e.library, "H-0001", 0);
  REQUIRE_FALSE(list.offers().empty());
  double before = 0;
  for (const SwapOffer& offer : list.offers()) {
    CAPTURE(offer.hold());
    CHECK(offer.hand_fraction() < old.hand - 0.03);
    CHECK(cellAt(e.library, offer.hold(), offer.rotation_deg()).kind == old.kind);
    CHECK(offer.distance() >= before);
    before = offer.distance();
  }
  CHECK(std::abs(list.offers(0).hand_fraction() - (old.hand - 0.12)) < 0.06);
}
