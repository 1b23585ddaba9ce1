// SPDX-License-Identifier: Apache-2.0
#include "catalog/climb_checks.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "catalog/bolt_advice.h"
#include "catalog/climb_record.h"
#include "catalog/climbs.h"
#include "catalog/edge_at.h"
#include "catalog/hold_record.h"
#include "catalog/intake.h"
#include "mesh/bad_input.h"
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

TEST_CASE("climb checks: the chip's two screw seats are measured, and its screws advised") {
  Evening e;
  e.shelve("H-0001", "shingle_chip");
  const BoltQuestion asked = boltQuestionOf(e.library.hold("H-0001"));
  REQUIRE(asked.seats.size() == 2);
  for (const BoltSeat& seat : asked.seats) {
    CHECK(seat.screw());
    CHECK(seat.kind() == BoltSeat::CONE);
    // Built with 2.5 mm and bores of 5 mm; its mesh has cells of 1.2 mm.
    CHECK(std::abs(seat.seat_height_mm().value() - 2.5) < 0.25);
    CHECK(std::abs(seat.bore_mm().value() - 5) < 0.2);
  }
  addHolds(e.library, "C-0001", {"H-0001"});
  e.place("H-0001", "lower", 2);
  recordBolt(e.library, "C-0001", "H-0001", "2 screws 5 × 20");
  ClimbChecks checks = checkClimb(e.library, "C-0001");
  const ClimbCheck* screws = find(checks, "bolt", "H-0001");
  REQUIRE(screws != nullptr);
  CHECK(screws->grade() == "too long");
  CHECK(screws->reason().find("2 screws 5 × 16 are advised") != std::string::npos);
  CHECK(screws->reason().find("thread") == std::string::npos);
  recordBolt(e.library, "C-0001", "H-0001", "2 screws 5 × 16");
  checks = checkClimb(e.library, "C-0001");
  CHECK(find(checks, "bolt", "H-0001") == nullptr);
}

TEST_CASE("climb checks: the recorded bolt is judged, set aside, and open again when it is worse") {
  Evening e;
  e.shelve("H-0001", "quay_crimp");  // Seat 14, panel 18: 32 needed, 35 advised.
  addHolds(e.library, "C-0001", {"H-0001"});
  e.place("H-0001", "lower", 8);
  const auto boltCheck = [&](const std::string& text) {
    recordBolt(e.library, "C-0001", "H-0001", text);
    const ClimbChecks checks = checkClimb(e.library, "C-0001");
    const ClimbCheck* check = find(checks, "bolt", "H-0001");
    return check == nullptr ? ClimbCheck() : *check;
  };
  CHECK(boltCheck("M10 × 35").kind().empty());
  const ClimbCheck shorter = boltCheck("M10 × 25");
  CHECK(shorter.grade() == "too short");
  CHECK(shorter.reason().find("M10 × 35 is advised") != std::string::npos);
  CHECK(boltCheck("M10 × 60").grade() == "too long");
  CHECK(boltCheck("3/8-16 × 1 1/2 in").grade() == "wrong thread");
  CHECK(boltCheck("M10 × 25").reason().find("Instead, M10 × 35") != std::string::npos);
  // With a washer of 4 mm the 35 holds 7 mm of the barrel's 11, less than six turns (9 mm).
  BoltSettings washer;
  washer.washer_mm = 4;
  recordBolt(e.library, "C-0001", "H-0001", "M10 × 35");
  const ClimbChecks washed = checkClimb(e.library, "C-0001", {}, {}, washer);
  REQUIRE(find(washed, "bolt", "H-0001") != nullptr);
  CHECK(find(washed, "bolt", "H-0001")->reason().find("Instead, M10 × 40") != std::string::npos);
  const auto saysNoWasher = [](const ClimbChecks& checks) {
    return std::any_of(checks.cautions().begin(), checks.cautions().end(), [](const auto& caution) {
      return caution.find("without a washer") != std::string::npos;
    });
  };
  CHECK(saysNoWasher(checkClimb(e.library, "C-0001")));
  CHECK_FALSE(saysNoWasher(washed));
  const ClimbCheck unread = boltCheck("a blue one");
  CHECK(unread.reason().find("cannot be judged") != std::string::npos);

  // Set aside; then something worse is found.
  dismissCheck(e.library, "C-0001", "bolt", "H-0001", "it is an M10 × 35, seen");
  CHECK(boltCheck("a blue one").has_dismissed());
  CHECK_MESSAGE(boltCheck("a red one").has_reopened(),
                "what was said of the blue one is not of it");
  const ClimbCheck worse = boltCheck("M10 × 25");
  CHECK_FALSE(worse.has_dismissed());
  CHECK(worse.reopened().found().find("a blue one") != std::string::npos);
  CHECK(checksText(checkClimb(e.library, "C-0001")).find("open again") != std::string::npos);
  dismissCheck(e.library, "C-0001", "bolt", "H-0001", "short stay");
  CHECK(boltCheck("M10 × 25").has_dismissed());
  CHECK_FALSE(boltCheck("M10 × 20").has_dismissed());  // 5 mm less thread.
  CHECK(boltCheck("M10 × 25").dismissed().reason() == "short stay");
  for (const char* kind : {"bolt", "feet", "worn", "place"}) {
    CAPTURE(kind);  // Set aside already, or not open at all.
    CHECK_THROWS_AS(dismissCheck(e.library, "C-0001", kind, "H-0001", "no"), BadInput);
  }
}

TEST_CASE("climb checks: worse by more than a difference that matters opens again, less does not") {
  Evening e;
  EdgeSpec spec;
  spec.lip_radius_mm = 4;
  e.shelveSolid("H-0001", edgeHold(spec), "green", 0.8);
  addHolds(e.library, "C-0001", {"H-0001"});
  e.place("H-0001", "lower", 8);
  const auto scanAgain = [&](double lip_radius_mm) {
    spec.lip_radius_mm = lip_radius_mm;
    const ExactHold hold = edgeHold(spec);
    storeScan(e.library, finishMesh(meshSdf(hold.solid, hold.box_mm, 0.8), {}), {},
              {IntakeChoice::Kind::NewScan, "H-0001"});
    return *find(checkClimb(e.library, "C-0001"), "worn", "H-0001");
  };
  CHECK_FALSE(scanAgain(5.6).has_dismissed());
  dismissCheck(e.library, "C-0001", "worn", "H-0001", "is to be worn");
  CHECK(scanAgain(5.6).has_dismissed());
  const ClimbCheck worse = scanAgain(8);  // Grown by 4 mm: worn out.
  CHECK_FALSE(worse.has_dismissed());
  CHECK(worse.has_reopened());
}

TEST_CASE("climb checks: near the top, placed by a note") {
  Evening e;
  e.shelve("H-0001", "bollard_high");
  addHolds(e.library, "C-0001", {"H-0001"});
  Placement by_note;
  by_note.set_note("left of the flag");
  by_note.set_panel("top");
  placeHold(e.library, "C-0001", "H-0001", by_note);
  const ClimbChecks checks = checkClimb(e.library, "C-0001");
  const ClimbCheck* top = find(checks, "top-out", "H-0001");
  REQUIRE(top != nullptr);
  CHECK(top->reason().find("say how far below") != std::string::npos);
  CHECK(top->reason().find("left of the flag") != std::string::npos);
  by_note.set_panel("lower");  // Which has no top edge.
  placeHold(e.library, "C-0001", "H-0001", by_note);
  CHECK(find(checkClimb(e.library, "C-0001"), "top-out", "H-0001") == nullptr);
}

TEST_CASE("climb checks: without a scan it is said, and the cautions come with every look") {
  Evening e;
  Event created;
  created.set_hold("H-0001");
  created.mutable_created()->set_name("unseen");
  created.mutable_created()->set_status(SHELF);
  e.library.commit({created});
  addHolds(e.library, "C-0001", {"H-0001"});
  Placement placement;
  placement.set_panel("lower");
  placement.set_column(1);
  placement.set_row(1);
  placeHold(e.library, "C-0001", "H-0001", placement);
  const ClimbChecks checks = checkClimb(e.library, "C-0001");
  REQUIRE(find(checks, "scan", "H-0001") != nullptr);
  CHECK(find(checks, "scan", "H-0001")->reason().find("not judged") != std::string::npos);
  // The advice's own warnings.
  REQUIRE(find(checks, "bolt", "H-0001") != nullptr);
  CHECK(find(checks, "bolt", "H-0001")->reason().find("measure by hand") != std::string::npos);
  const std::string text = checksText(checks);
  for (const char* words : {"hand feel and the maker's torque", "never force", "standards in force",
                            "qualified people", "top out", "Test climb before opening"}) {
    CAPTURE(words);
    CHECK(text.find(words) != std::string::npos);
  }
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
