// SPDX-License-Identifier: Apache-2.0
#include "tests/shapes/profile.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>
#include <stdexcept>

using namespace holdshelf;
using Eigen::Vector2d;

TEST_CASE("Profile: a square with rounded corners, in closed form") {
  const double side = 20, r = 4;
  const Profile p({{{0, 0}, r}, {{side, 0}, r}, {{side, side}, r}, {{0, side}, r}});
  CHECK(p.area_mm2() == doctest::Approx(side * side - (4 - std::numbers::pi) * r * r));
  CHECK(p.length_mm() == doctest::Approx(4 * (side - 2 * r) + 2 * std::numbers::pi * r));
  CHECK(p({10, 10}) == doctest::Approx(-10));
  CHECK(p({-3, 10}) == doctest::Approx(3));
  const Vector2d diagonal = Vector2d(1, 1).normalized(), centre(4, 4);
  CHECK(std::abs(p(centre - r * diagonal)) < 1e-12);
  CHECK(p(centre - (r + 1) * diagonal) == doctest::Approx(1));
  CHECK(p(centre - (r - 1) * diagonal) == doctest::Approx(-1));
}

TEST_CASE("Profile: arcs at sharp and at re-entrant corners have the stated radius") {
  // A step: the corner at (10, 10) is re-entrant, the one at (10, 30) a sharp lip of 60 degrees.
  const Profile p({{{0, 0}},
                   {{40, 0}},
                   {{40, 10}},
                   {{10, 10}, 3},
                   {{10 + 20 * std::tan(std::numbers::pi / 6), 30}, 2},
                   {{0, 30}}});
  for (std::size_t corner : {3u, 4u}) {
    CAPTURE(corner);
    const Profile::Arc& arc = p.arc(corner);
    CHECK(arc.radius_mm == (corner == 3 ? 3 : 2));
    CHECK(arc.convex == (corner == 4));
    CHECK((arc.from_mm - arc.centre_mm).norm() == doctest::Approx(arc.radius_mm));
    CHECK((arc.to_mm - arc.centre_mm).norm() == doctest::Approx(arc.radius_mm));
    const Vector2d middle = (arc.from_mm + arc.to_mm) / 2 - arc.centre_mm;
    const Vector2d apex = arc.centre_mm + middle.normalized() * arc.radius_mm;
    CHECK(std::abs(p(apex)) < 1e-12);
    const double out = arc.convex ? 0.5 : -0.5;
    CHECK(p(apex + out * middle.normalized()) == doctest::Approx(0.5));
    CHECK(p(apex - out * middle.normalized()) == doctest::Approx(-0.5));
  }
}

TEST_CASE("Profile: what is no outline") {
  CHECK_THROWS_AS(Profile({{{0, 0}}, {{1, 0}}}), std::invalid_argument);
  CHECK_THROWS_AS(Profile({{{0, 0}, 6}, {{10, 0}, 6}, {{10, 10}}, {{0, 10}}}),
                  std::invalid_argument);
}
