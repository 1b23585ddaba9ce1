// SPDX-License-Identifier: Apache-2.0
#include "catalog/foot_model.h"

#include <doctest/doctest.h>

#include <initializer_list>

#include "tests/shapes/faceted_shape.h"

using namespace holdshelf;

static const GripThresholds kDefault;

static ToeHold toe(const FaceSpec& face, double wall_angle_deg = 0) {
  const Shape shape = facetedShape({face});
  for (const Grip& grip : shape.grips())
    if (grip.rotation_deg() == 0) return toeHold(grip, 0, wall_angle_deg, kDefault);
  FAIL("no grip at rotation 0");
  return {};
}

TEST_CASE("toeHold: deeper is better, and a 20 mm foothold is nearly as good as any") {
  // Footholds 20 mm deep served the lab study in Bioengineering 2024;11(4):370.
  double before = 0;
  for (double depth_mm : {2.0, 4.0, 8.0, 14.0, 20.0, 40.0}) {
    const double hold = toe({.depth_mm = depth_mm, .lip_radius_mm = 0}).fraction;
    CHECK(hold > before);
    before = hold;
  }
  CHECK(toe({.depth_mm = 20, .lip_radius_mm = 1}).fraction > 0.9);
}

TEST_CASE("toeHold: rubber smears where skin has let go") {
  // Shoe rubber on hold plastic 0.7 to 1.15 (European Rubber Journal), skin at most 0.9: a slope of
  // 42 degrees holds a shoe and no hand.
  CHECK(toe({.depth_mm = 40, .lip_radius_mm = 2, .incut_deg = -42}).fraction > 0.1);
  CHECK(toe({.depth_mm = 40, .lip_radius_mm = 2, .incut_deg = -42}).smear);
  CHECK_FALSE(toe({.depth_mm = 40, .lip_radius_mm = 2}).smear);
  CHECK(toe({.depth_mm = 40, .lip_radius_mm = 2, .incut_deg = -49}).fraction == 0);  // atan 1.14.
}

TEST_CASE("toeHold: round lips, overhangs and narrow chips take it away, incut gives it back") {
  CHECK(toe({.depth_mm = 8, .lip_radius_mm = 8}).fraction <
        toe({.depth_mm = 8, .lip_radius_mm = 1}).fraction);
  CHECK(toe({.depth_mm = 8}, 30).fraction < toe({.depth_mm = 8}, 0).fraction);
  CHECK(toe({.depth_mm = 8, .incut_deg = 20}, 30).fraction > toe({.depth_mm = 8}, 30).fraction);
  CHECK(toe({.depth_mm = 8, .width_mm = 12}).fraction <
        0.6 * toe({.depth_mm = 8, .width_mm = 40}).fraction);
}

TEST_CASE("toeHold: stable area is contact times width, a foot's breadth at most") {
  const ToeHold wide = toe({.depth_mm = 20, .width_mm = 300, .lip_radius_mm = 0});
  CHECK(wide.stable_area_mm2 == doctest::Approx(20 * 97.5));  // ANSUR II medians 93 and 102.
  const ToeHold narrow = toe({.depth_mm = 20, .width_mm = 30, .lip_radius_mm = 0});
  CHECK(narrow.stable_area_mm2 == doctest::Approx(600));
}
