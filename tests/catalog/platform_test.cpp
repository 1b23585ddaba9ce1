// SPDX-License-Identifier: Apache-2.0
#include "catalog/platform.h"

#include <doctest/doctest.h>

#include <initializer_list>

#include "tests/shapes/faceted_shape.h"

using namespace holdshelf;

static Platform platform(const FaceSpec& face, double wall_angle_deg = 0) {
  const Shape shape = facetedShape({face});
  for (const Grip& grip : shape.grips())
    if (grip.rotation_deg() == 0) return platformOf(grip, wall_angle_deg, handModel(), {});
  FAIL("no grip at rotation 0");
  return {};
}

TEST_CASE("platformOf: big flat tops are high, crimps and slopes low; common practice, no source") {
  CHECK(platform({.depth_mm = 90, .width_mm = 150}).level() == "high");
  CHECK(platform({.depth_mm = 12, .width_mm = 100}).level() == "low");
  CHECK(platform({.depth_mm = 60, .width_mm = 60, .incut_deg = -30}).level() == "low");
  CHECK(platform({.depth_mm = 90, .width_mm = 150, .incut_deg = -30}).palm() == 0);
  // What is a platform on a vertical wall is a slope on an overhang.
  CHECK(platform({.depth_mm = 90, .width_mm = 150}, 25).level() == "low");
}

TEST_CASE("platformOf: the flat part of a rounded top ends at the limit's slope") {
  // Flat 90 with a fillet of 40: 50 flat and 40 sin 20 = 13.68 mm out, chord over 63.68 and a drop
  // of 40 (1 - cos 20) = 2.41.
  const Platform top = platform({.depth_mm = 90, .width_mm = 150, .lip_radius_mm = 40});
  CHECK(top.depth_mm() == doctest::Approx(63.73).epsilon(0.001));
}
