// SPDX-License-Identifier: Apache-2.0
#include "catalog/holding_force.h"

#include <doctest/doctest.h>

#include <cmath>
#include <initializer_list>
#include <limits>

#include "catalog/grip_model.h"
#include "tests/shapes/faceted_shape.h"

using namespace holdshelf;

constexpr double kOpen = std::numeric_limits<double>::infinity();
static const GripThresholds kDefault;
static const HandModel kHand = handModel();

/// The grip of a face, looked at squarely.
static Grip gripOf(const FaceSpec& face) {
  const Shape shape = facetedShape({face});
  for (const Grip& grip : shape.grips())
    if (grip.rotation_deg() == 0) return grip;
  FAIL("no grip at rotation 0");
  return {};
}

static HoldingForce force(const FaceSpec& face, double wall_angle_deg = 0) {
  return edgeForce(gripOf(face), wall_angle_deg, kOpen, kHand, kDefault);
}

TEST_CASE(
    "edgeForce: whole hand, flat square edges of 10 to 40 mm: rising, within 350.8 to 575.7 N") {
  // Amca et al., J Sports Sci 2012;30(7):669-677: only the extremes of the table are published.
  double before = 0;
  for (double depth_mm = 10; depth_mm <= 40; depth_mm += 1) {
    CAPTURE(depth_mm);
    const HoldingForce hold = force({.depth_mm = depth_mm, .width_mm = 100, .lip_radius_mm = 0});
    const double newton = kDefault.jug_newton * hold.fraction_of_jug;
    CHECK(newton >= 350.8);
    CHECK(newton <= 575.7);
    CHECK(hold.fraction_of_jug >= before);
    before = hold.fraction_of_jug;
  }
}

TEST_CASE("edgeForce: below about 5 mm the answer says that pulp decides") {
  // Bourne, Halaki, Vanwanseele, Clarke, J Appl Biomech 2011;27(1):40-46: forces at 2.8 and 4.3 mm
  // do not follow those at 12.5 mm.
  for (double depth_mm : {2.8, 4.3})
    CHECK(force({.depth_mm = depth_mm, .lip_radius_mm = 0}).low_confidence);
  for (double depth_mm : {5.8, 7.3, 12.5})
    CHECK_FALSE(force({.depth_mm = depth_mm, .lip_radius_mm = 0}).low_confidence);
  const HoldingForce thin = force({.depth_mm = 2.8, .lip_radius_mm = 0});
  CHECK(thin.sigma >= 0.5 * thin.fraction_of_jug);
}

TEST_CASE("edgeForce: a round lip of the same depth holds less, a sharp one is flagged") {
  double before = 1;
  for (double radius_mm : {0.5, 3.0, 6.0, 10.0, 14.0}) {
    const HoldingForce hold = force({.depth_mm = 14, .lip_radius_mm = radius_mm});
    CHECK(hold.fraction_of_jug < before);
    CHECK(hold.sharp == (radius_mm < kDefault.sharp_radius_mm));
    before = hold.fraction_of_jug;
  }
}

TEST_CASE(
    "edgeForce: force falls with the overhang, and no skin holds a flat edge past 42 degrees") {
  double before = 2;
  for (double wall_angle_deg = -20; wall_angle_deg <= 60; wall_angle_deg += 5) {
    const double hold = force({.depth_mm = 30, .width_mm = 100}, wall_angle_deg).fraction_of_jug;
    CHECK(hold <= before);
    before = hold;
    if (wall_angle_deg > 42) CHECK(hold == 0);
  }
}

TEST_CASE(
    "edgeForce: at the published limits of slope little is left, and beyond 42 degrees nothing") {
  // Pulling turns to pushing at 34 degrees and 45 mm from the wall for the more experienced, at 22
  // degrees and 30 mm for the less (Fuss, Weizman, Burr, Niegl, Sports Technology 2013;6:122-129).
  const auto slope = [](double slope_deg, double depth_mm) {
    return force(
        {.depth_mm = depth_mm, .width_mm = 100, .lip_radius_mm = 0, .incut_deg = -slope_deg});
  };
  const HoldingForce less = slope(22, 30), more = slope(34, 45);
  CHECK(less.kind == GripKind::Sloper);
  CHECK(less.fraction_of_jug > 2 * more.fraction_of_jug);
  CHECK(more.fraction_of_jug > 0);
  CHECK(more.fraction_of_jug < 0.35 * slope(0, 45).fraction_of_jug);
  // Of two skins a tenth apart, which is what people differ by, the worse one is at its end there.
  CHECK(more.sigma_friction > 0.6 * more.fraction_of_jug);
  CHECK(less.sigma_friction < 0.3 * less.fraction_of_jug);
  // atan 0.90, the most that is published of chalked skin (Amca et al., Sports Biomech 2012).
  GripThresholds best;
  best.skin_friction = 0.90;
  for (double steep_deg : {42.1, 45.0, 60.0})
    CHECK(edgeForce(gripOf({.depth_mm = 45, .lip_radius_mm = 0, .incut_deg = -steep_deg}), 0, kOpen,
                    kHand, best)
              .fraction_of_jug == 0);
}

TEST_CASE("edgeForce: no crimp is used on a flat 23 mm edge, and no hand beats a large jug") {
  // Open hand over half crimp on a 23 mm rung: Current Issues in Sport Science 2025;10.
  CHECK(force({.depth_mm = 23, .width_mm = 100, .lip_radius_mm = 0}).technique ==
        Technique::OpenHand);
  for (double incut_deg : {-20.0, 0.0, 20.0, 40.0})
    for (double depth_mm : {5.0, 20.0, 60.0})
      CHECK(
          force({.depth_mm = depth_mm, .width_mm = 200, .incut_deg = incut_deg}).fraction_of_jug <=
          1 + 1e-9);
}

TEST_CASE("edgeForce: incut crimps belong on slight overhangs; common practice, no source") {
  const FaceSpec incut{.depth_mm = 15, .lip_radius_mm = 2, .incut_deg = 25};
  const FaceSpec flat{.depth_mm = 15, .lip_radius_mm = 2};
  CHECK(force(incut, 20).fraction_of_jug > 0.9 * force(incut, 0).fraction_of_jug);
  CHECK(force(flat, 20).fraction_of_jug < 0.85 * force(flat, 0).fraction_of_jug);
  CHECK(force(incut, 20).kind == GripKind::Crimp);
}

TEST_CASE("edgeForce: a large-radius jug must be wrapped and palmed; common practice, no source") {
  const HoldingForce thin =
      force({.depth_mm = 60, .width_mm = 110, .lip_radius_mm = 12, .incut_deg = 20});
  const HoldingForce fat =
      force({.depth_mm = 60, .width_mm = 110, .lip_radius_mm = 40, .incut_deg = 20});
  CHECK(thin.kind == GripKind::Jug);
  CHECK(fat.fraction_of_jug < thin.fraction_of_jug);
  CHECK(fat.bar < thin.bar);
}

TEST_CASE("edgeForce: horizontal bars of 22 to 32 mm beat one of 51 mm") {
  // Young et al., Human Factors 2012;54(3):316-333, as in barShare's test, here as whole grips.
  const auto bar = [](double diameter_mm, double wall_angle_deg) {
    Grip grip =
        gripOf({.depth_mm = diameter_mm, .width_mm = 110, .lip_radius_mm = diameter_mm / 2});
    grip.set_lip_sweep_deg(180);
    return edgeForce(grip, wall_angle_deg, kOpen, kHand, kDefault);
  };
  for (double wall_angle_deg : {0.0, 45.0}) {
    const double thick = bar(51, wall_angle_deg).fraction_of_jug;
    CHECK(1 - thick / bar(25, wall_angle_deg).fraction_of_jug >= 0.08);
    CHECK(1 - thick / bar(25, wall_angle_deg).fraction_of_jug <= 0.13);
    CHECK(bar(25, wall_angle_deg).kind == GripKind::Jug);
  }
}

TEST_CASE("edgeForce: a lip that runs askew of the pull is held by friction alone") {
  const Shape shape = facetedShape({{.depth_mm = 20, .width_mm = 100}});
  const GripModel model(shape);
  double before = 2;
  for (double rotation_deg = 0; rotation_deg <= 60; rotation_deg += 5) {
    CAPTURE(rotation_deg);
    const double hold = model.hand({rotation_deg, 0, 0}).fraction_of_jug;
    CHECK(hold < before + 1e-12);
    CHECK(std::abs(hold - model.hand({-rotation_deg, 0, 0}).fraction_of_jug) < 1e-9);
    if (rotation_deg > 38.7) CHECK(hold == 0);  // atan 0.8.
    before = hold;
  }
}

TEST_CASE("edgeForce: fingers stand on the run's own depths") {
  Grip even = gripOf({.depth_mm = 20, .width_mm = 100});
  Grip broken = even;  // The same best depth, but only 30 mm of it; the rest is 4 mm.
  for (EdgePlace& place : *broken.mutable_run())
    if (std::abs(place.offset_mm()) > 15) place.set_depth_mm(4);
  const double whole = edgeForce(even, 0, kOpen, kHand, kDefault).fraction_of_jug;
  const HoldingForce two = edgeForce(broken, 0, kOpen, kHand, kDefault);
  CHECK(two.fraction_of_jug < 0.8 * whole);
  CHECK(two.fraction_of_jug > 0.5 * whole);  // Two fingers' load share is 0.55.
  CHECK(two.finger_count == 2);
}

TEST_CASE("edgeForce: sigma is what moving each measured number by its own gives") {
  // Monte-Carlo-free oracle: with one uncertainty at a time, sigma is that one's difference.
  FaceSpec face{.depth_mm = 12, .width_mm = 100, .sigma_mm = 0, .sigma_deg = 0};
  Grip grip = gripOf(face);
  CHECK(edgeForce(grip, 0, kOpen, kHand, kDefault).sigma_measured == 0);
  grip.mutable_edge_depth_mm()->set_sigma(0.5);
  Grip deeper = gripOf({.depth_mm = 12.5, .width_mm = 100});
  const HoldingForce nominal = edgeForce(grip, 0, kOpen, kHand, kDefault);
  const HoldingForce moved = edgeForce(deeper, 0, kOpen, kHand, kDefault);
  CHECK(nominal.technique == moved.technique);
  CHECK(nominal.sigma_measured ==
        doctest::Approx(moved.fraction_of_jug - nominal.fraction_of_jug).epsilon(0.01));
}

TEST_CASE("edgeForce: guesswork under the grip widens the answer") {
  Grip grip = gripOf({.depth_mm = 12});
  const double seen = edgeForce(grip, 0, kOpen, kHand, kDefault).sigma;
  grip.set_guesswork_share(0.8);
  CHECK(edgeForce(grip, 0, kOpen, kHand, kDefault).sigma > 3 * seen);
}

static Pocket pocketOf(double width_mm, double height_mm, double depth_mm) {
  Pocket pocket;
  pocket.mutable_width_mm()->set_value(width_mm);
  pocket.mutable_height_mm()->set_value(height_mm);
  pocket.mutable_depth_mm()->set_value(depth_mm);
  pocket.mutable_depth_mm()->set_sigma(0.3);
  return pocket;
}

TEST_CASE("pocketForce: fingers by the opening's width, force by the depth") {
  const auto pocket = [](double width_mm, double depth_mm) {
    return pocketForce(pocketOf(width_mm, 25, depth_mm), 0, 0, 0, kHand, kDefault);
  };
  CHECK(pocket(20, 30).finger_count == 1);
  CHECK(pocket(36, 30).finger_count == 2);  // Openings of 35 to 45 mm: inference, not published.
  CHECK(pocket(50, 30).finger_count == 3);
  // Walls let fingers in whole or not at all: middle, ring and little finger take 0.94
  // of 16.5, 15.7 and 14.0 mm, 43.4 mm together; the little finger alone 13.2.
  CHECK(pocket(44, 30).finger_count == 3);
  CHECK(pocket(43, 30).finger_count == 2);
  CHECK(pocket(43, 30).fraction_of_jug == doctest::Approx(pocket(36, 30).fraction_of_jug));
  CHECK(pocket(13, 30).fraction_of_jug == 0);
  CHECK(pocket(36, 30).kind == GripKind::Pocket);
  CHECK(pocket(36, 30).fraction_of_jug > pocket(36, 12).fraction_of_jug);
  CHECK(pocket(36, 30).fraction_of_jug < pocket(50, 30).fraction_of_jug);
  CHECK(pocketForce(pocketOf(36, 9, 30), 0, 0, 0, kHand, kDefault).fraction_of_jug == 0);
  CHECK(pocketForce(pocketOf(36, 25, 30), 0, 95, 0, kHand, kDefault).fraction_of_jug == 0);
}
