// SPDX-License-Identifier: Apache-2.0
#include "catalog/compression.h"

#include <doctest/doctest.h>

#include <cmath>
#include <initializer_list>

#include "tests/shapes/faceted_shape.h"

using namespace holdshelf;

TEST_CASE("compressionFriction: statics by hand") {
  // Square faces on a vertical wall: half the weight over the squeeze.
  CHECK(compressionFriction(0, 0, 0, 0.6) == doctest::Approx(0.5 / 0.6));
  CHECK(compressionFriction(0, 0, 0, 1.0) == doctest::Approx(0.5));
  // Square faces stay square on an overhang: the weight only turns in the face.
  CHECK(compressionFriction(0, 0, 40, 0.6) == doctest::Approx(0.5 / 0.6));
  // Sloping by 30 on a vertical wall: N = S cos 30, T^2 = (S sin 30)^2 + 1/4.
  CHECK(compressionFriction(30, 0, 0, 1.0) ==
        doctest::Approx(std::sqrt(0.25 + 0.25) / std::cos(std::acos(-1.0) / 6)));
  CHECK(compressionFriction(30, 0, 45, 1.0) > compressionFriction(30, 0, 0, 1.0));
  CHECK(std::isinf(compressionFriction(89, 0, 45, 1.0)));
  // Askew by 45 degrees: N = (S - D) / sqrt 2.
  CHECK(compressionFriction(0, 1, 0, 1.0) ==
        doctest::Approx(std::sqrt(1.25 - 0.125) / (0.5 / std::sqrt(2.0))));
}

TEST_CASE(
    "compressionPairs: non-positive lips make compression, positive ones are pulled; common "
    "practice, no source") {
  const Shape square = opposedFaces(-4), incut = opposedFaces(15), steep = opposedFaces(-35);
  const auto pairs = compressionPairs(GripModel(square), 20, 200, 900);
  REQUIRE_FALSE(pairs.empty());
  // Sideways faces meet a downward pull when the hold is turned by a quarter.
  CHECK(pairs.front().first_deg() == 90);
  CHECK(pairs.front().second_deg() == 270);
  // Lips at 180 mm; sloping by 4 degrees the middle of 80 mm lies 2.8 mm further out.
  CHECK(std::abs(pairs.front().span_mm() - 2 * (180 + 40 * std::tan(4 * std::acos(-1.0) / 180))) <
        5);
  // Turned to where its faces look left and right: a face seen at 90 is squeezed at 180.
  CHECK(pairs.front().first_rotation_deg() == 180);
  CHECK(pairs.front().second_rotation_deg() == 180);
  CHECK(pairs.front().friction_sigma() > 0);
  CHECK(compressionPairs(GripModel(incut), 0, 200, 900).empty());
  // Wider than straight across only askew, where the hands would slide along the faces.
  for (const CompressionPair& pair : compressionPairs(GripModel(square), 20, 400, 900))
    CHECK(pair.holds() == GripVerdict::NO);
  REQUIRE_FALSE(compressionPairs(GripModel(steep), 20, 200, 900).empty());
  CHECK(compressionPairs(GripModel(steep), 20, 200, 900).front().holds() == GripVerdict::NO);
  CHECK(pairs.front().friction_needed() <
        compressionPairs(GripModel(steep), 20, 200, 900).front().friction_needed());
}

TEST_CASE("compressionPairs: hands lie above a round lip's outermost point") {
  // A quarter round of 60 mm on each side, its outermost point 100 mm from the middle: it bears
  // from the root, 160 mm out, to where it slopes by 45 degrees, 60 cos 45 = 42.4 mm above that
  // point.
  const Shape round = facetedShape(
      {{.facing_deg = 0, .depth_mm = 60, .width_mm = 150, .lip_radius_mm = 60, .distance_mm = 100},
       {.facing_deg = 180,
        .depth_mm = 60,
        .width_mm = 150,
        .lip_radius_mm = 60,
        .distance_mm = 100}});
  const auto pairs = compressionPairs(GripModel(round), 0, 0, 1e6);
  REQUIRE_FALSE(pairs.empty());
  CHECK(pairs.front().span_mm() ==
        doctest::Approx(2 * (100 + 60 * (1 + std::cos(std::acos(-1.0) / 4)) / 2)).epsilon(1e-3));
  // 22.5 degrees is the slope of the chord of an arc from 0 to 45.
  CHECK(pairs.front().first_slope_deg() == doctest::Approx(22.5).epsilon(1e-3));
}

TEST_CASE("compressionPairs: two holds a distance apart, the span in reach or not") {
  const Shape block = facetedShape(
      {{.facing_deg = 90, .depth_mm = 60, .width_mm = 150, .incut_deg = -3, .distance_mm = 30}});
  const GripModel model(block);
  const auto pairs = compressionPairs(model, model, 500, 10, 400, 700);
  REQUIRE_FALSE(pairs.empty());
  // Its one face looks up as stored; turned by 90 it looks left, by 270 right.
  CHECK(pairs.front().first_rotation_deg() == 90);
  CHECK(pairs.front().second_rotation_deg() == 270);
  CHECK(pairs.front().span_mm() == doctest::Approx(560).epsilon(0.02));
  CHECK(compressionPairs(model, model, 500, 10, 600, 700).empty());
  const Shape incut = facetedShape(
      {{.facing_deg = 90, .depth_mm = 60, .width_mm = 150, .incut_deg = 15, .distance_mm = 30}});
  CHECK(compressionPairs(model, GripModel(incut), 500, 0, 400, 700).empty());
}
