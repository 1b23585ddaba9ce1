// SPDX-License-Identifier: Apache-2.0
#include "catalog/climb_checks.h"

#include <doctest/doctest.h>

#include <cmath>

#include "catalog/climb_record.h"
#include "catalog/climbs.h"
#include "catalog/edge_at.h"
#include "catalog/hold_record.h"
#include "catalog/intake.h"
#include "tests/catalog/evening.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

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

TEST_CASE("climb checks: worn pieces, by the last scan against the first") {
  Evening e;
  EdgeSpec spec;
  spec.lip_radius_mm = 4;
  e.shelveSolid("H-0001", edgeHold(spec), "green", 0.8);
  e.shelveSolid("H-0002", edgeHold(spec), "green", 0.8);
  addHolds(e.library, "C-0001", {"H-0001", "H-0002"});
  e.place("H-0001", "lower", 8);
  e.placeAt("H-0002", "lower", 5, 8);
  CHECK(find(checkClimb(e.library, "C-0001"), "worn", "H-0001") == nullptr);
  const auto scanAgain = [&](const std::string& id, double lip_radius_mm) {
    spec.lip_radius_mm = lip_radius_mm;
    const ExactHold hold = edgeHold(spec);
    storeScan(e.library, finishMesh(meshSdf(hold.solid, hold.box_mm, 0.8), {}), {},
              {IntakeChoice::Kind::NewScan, id});
  };
  scanAgain("H-0001", 6);  // 2 mm of growth: "worn" is from 1 mm, "worn out" from 2.5.
  scanAgain("H-0002", 4);
  const ClimbChecks checks = checkClimb(e.library, "C-0001");
  const ClimbCheck* worn = find(checks, "worn", "H-0001");
  REQUIRE(worn != nullptr);
  CHECK(worn->reason().starts_with("worn"));
  CHECK(worn->reason().find(" mm") != std::string::npos);
  CHECK(find(checks, "worn", "H-0002") == nullptr);
}

TEST_CASE("climb checks: a sharp lip under a hand, and none under a foot") {
  Evening e;
  EdgeSpec spec;
  spec.lip_radius_mm = 0.4;
  e.shelveSolid("H-0001", edgeHold(spec));
  addHolds(e.library, "C-0001", {"H-0001"});
  e.place("H-0001", "lower", 8);
  ClimbChecks checks = checkClimb(e.library, "C-0001");
  REQUIRE(find(checks, "sharp", "H-0001") != nullptr);
  CHECK(find(checks, "sharp", "H-0001")->reason().find("skin") != std::string::npos);
  useAs(e.library, "C-0001", "H-0001", true);
  checks = checkClimb(e.library, "C-0001");
  CHECK(find(checks, "sharp", "H-0001") == nullptr);
}

TEST_CASE("climb checks: a hold that went elsewhere is said, and can be set aside with a reason") {
  Evening e;
  e.shelve("H-0001", "quay_crimp");
  addHolds(e.library, "C-0001", {"H-0001"});
  e.place("H-0001", "lower", 8);
  Event away;
  away.set_hold("H-0001");
  away.mutable_moved()->set_status(WASH);
  e.library.commit({away});
  REQUIRE(find(checkClimb(e.library, "C-0001"), "place", "H-0001") != nullptr);
  dismissCheck(e.library, "C-0001", "place", "H-0001", "comes back tomorrow");
  const ClimbChecks checks = checkClimb(e.library, "C-0001");
  CHECK(checks.open() == 0);
  CHECK(find(checks, "place", "H-0001")->dismissed().reason() == "comes back tomorrow");
}
