// SPDX-License-Identifier: Apache-2.0
#include "catalog/clearance.h"

#include <doctest/doctest.h>

#include <cmath>
#include <initializer_list>
#include <utility>

using namespace holdshelf;

/// A ledge 30 mm deep at u = 40 with its face down to the wall at u = -40 sticking out to
/// `belly_mm`, and, if given, a roof of the same depth above the ledge.
static Shape ledge(double belly_mm, double roof_above_mm = 0) {
  Shape shape;
  Section& section = *shape.add_sections();
  const auto point = [&](double u, double z) {
    Point2& p = *section.add_points_mm();
    p.set_x(u);
    p.set_y(z);
  };
  point(-60, 0);
  point(-40, belly_mm);
  point(40, 30);
  point(40, 0);
  if (roof_above_mm > 0) {
    point(40 + roof_above_mm, 0);
    point(40 + roof_above_mm, 30);
    point(90 + roof_above_mm, 30);
    point(90 + roof_above_mm, 0);
  }
  Grip& grip = *shape.add_grips();
  grip.mutable_edge_depth_mm()->set_value(30);
  grip.set_lip_height_mm(40);
  grip.set_lip_z_mm(30);
  return shape;
}

static Clearance clearance(const Shape& shape, double wall_angle_deg = 0) {
  const auto found = clearanceOf(shape, shape.grips(0), wall_angle_deg, handModel(), {});
  REQUIRE(found);
  return *found;
}

TEST_CASE("clearanceOf: free height over the ledge") {
  CHECK(std::isinf(clearance(ledge(30)).room_above_mm));
  CHECK(clearance(ledge(30)).fits_hand);
  const Shape slot = ledge(30, 22);
  CHECK(clearance(slot).room_above_mm == doctest::Approx(22));
  CHECK_FALSE(clearance(slot).fits_hand);  // DGUV 201-015: 35 mm.
  CHECK(clearance(ledge(30, 35)).fits_hand);
}

TEST_CASE("clearanceOf: a belly below the lip bends the wrist by its angle, an overhang frees it") {
  // Belly 50 mm out, 80 mm below a lip at 30 mm: atan(20 / 80) = 14.04 degrees.
  CHECK(clearance(ledge(50)).wrist_bend_deg == doctest::Approx(14.036).epsilon(0.001));
  CHECK(clearance(ledge(120)).wrist_bend_deg == doctest::Approx(48.37).epsilon(0.001));
  CHECK_FALSE(clearance(ledge(120)).wrist_free);
  // Hanging at 30 degrees past vertical the same belly lies 30 degrees further in.
  CHECK(clearance(ledge(120), 30).wrist_bend_deg == doctest::Approx(48.37 - 30).epsilon(0.002));
  CHECK(clearance(ledge(120), 30).wrist_free);
  CHECK(clearance(ledge(30), 0).wrist_bend_deg <= 0.001);
  // On a slab the wall itself comes out.
  CHECK(clearance(ledge(20), -20).wrist_bend_deg > 0);
}

TEST_CASE("clearanceOf: without a section there is no answer") {
  Shape shape = ledge(30);
  shape.clear_sections();
  CHECK_FALSE(clearanceOf(shape, shape.grips(0), 0, handModel(), {}));
}
