// SPDX-License-Identifier: Apache-2.0
#include "catalog/mounting.h"

#include <doctest/doctest.h>

#include <cmath>
#include <initializer_list>

#include "mesh/bad_input.h"

using namespace holdshelf;

constexpr double kDeg = 3.14159265358979323846 / 180;

TEST_CASE("downPullRotation_deg: the same pull in the hold frame, by turning vectors") {
  // Oracle: turn the wall-frame pull back by the rotation and compare with straight down turned
  // back by the answer.
  for (double rotation_deg : {0.0, 35.0, 200.0})
    for (double pull_deg : {0.0, 90.0, -90.0, 180.0, 40.0}) {
      CAPTURE(rotation_deg);
      CAPTURE(pull_deg);
      const double pulled = (-90 + pull_deg - rotation_deg) * kDeg;
      const double answer = (-90 - downPullRotation_deg({rotation_deg, 0, pull_deg})) * kDeg;
      CHECK(std::abs(std::cos(pulled) - std::cos(answer)) < 1e-12);
      CHECK(std::abs(std::sin(pulled) - std::sin(answer)) < 1e-12);
    }
}

TEST_CASE("wrap360 and angleBetween_deg") {
  CHECK(wrap360(-5) == 355);
  CHECK(wrap360(720) == 0);
  CHECK(wrap360(-1e-17) < 360);
  CHECK(angleBetween_deg(350, 10) == doctest::Approx(20));
  CHECK(angleBetween_deg(-90, 90) == doctest::Approx(180));
}

TEST_CASE("checkRotation and checkLean: angles as holds and walls have") {
  for (double angle_deg : {0.0, -360.0, 360.0, 355.0}) CHECK_NOTHROW(checkRotation(angle_deg));
  for (double angle_deg : {0.0, -20.0, 60.0, 90.0}) CHECK_NOTHROW(checkLean(angle_deg));
  for (double no_angle : {double(NAN), double(INFINITY), double(-INFINITY), 1e308, -360.5, 361.0}) {
    CHECK_THROWS_AS(checkRotation(no_angle), BadInput);
    CHECK_THROWS_AS(checkLean(no_angle), BadInput);
  }
  CHECK_THROWS_AS(checkLean(90.5), BadInput);
}
