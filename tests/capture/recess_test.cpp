// SPDX-License-Identifier: Apache-2.0
// Closed form: a round recess in a flat top is seen down to its floor, from very far at elevation
// e, in the lens that two circles of its radius share whose centres lie depth / tan(e) apart
// (circle-circle intersection: A = 2 R^2 acos(d / 2R) - (d / 2) sqrt(4 R^2 - d^2)).
#include "capture/recess.h"

#include <doctest/doctest.h>

#include <cmath>

#include "tests/capture/recess_scene.h"

using namespace holdshelf;
using Eigen::Vector3d;

TEST_CASE("seenInRecess: from afar the floor shows in the lens that rim and wall share") {
  const RayScene nothing = farAway();
  const Recess recess = recessIn(kTop_mm);
  for (double depth : {6.0, 14.0, 22.0}) {
    CAPTURE(depth);
    const double e = 62 * M_PI / 180;
    const Vector3d eye(1e5 * std::cos(e), 0, 1e5 * std::sin(e));
    int seen = 0;
    constexpr double kStep = 0.05;
    for (double x = -10; x < 10; x += kStep)
      for (double y = -10; y < 10; y += kStep)
        if (std::hypot(x, y) < kRadius_mm)
          seen += seenInRecess(recess, nothing, {x, y, kTop_mm - depth}, eye);
    // Rays keep 0.4 mm from the rim, sideways and above it.
    const double r = kRadius_mm - 0.4, d = (depth + 0.4) / std::tan(e);
    const double area = 2 * r * r * std::acos(d / (2 * r)) - d / 2 * std::sqrt(4 * r * r - d * d);
    CHECK(std::abs(seen * kStep * kStep - area) < 1);
  }
}

TEST_CASE("Recess: the rim between two samples is the higher of them, all the way round") {
  Recess recess;
  recess.rim_mm = {10, 20, 12, 11};
  CHECK(recess.lowestRim_mm() == 10);
  CHECK(recess.rimAt_mm(0.1) == 20);
  CHECK(recess.rimAt_mm(M_PI / 2 + 0.1) == 20);
  CHECK(recess.rimAt_mm(M_PI + 0.1) == 12);
  CHECK(recess.rimAt_mm(-0.1) == 11);
  CHECK(recess.rimAt_mm(2 * M_PI - 0.1) == 11);
}

TEST_CASE("seenInRecess: what of the hold stands before the recess hides it") {
  TriangleMesh screen;  // An upright sheet at x = 30, from 40 mm up.
  screen.vertices_mm = {{30, -200, 40}, {30, 200, 40}, {30, 0, 400}};
  screen.triangles = {{0, 1, 2}};
  const RayScene hold(screen);
  const Recess recess = recessIn(kTop_mm);
  CHECK_FALSE(seenInRecess(recess, hold, {0, 0, kTop_mm - 2}, {100, 0, 150}));
  CHECK(seenInRecess(recess, hold, {0, 0, kTop_mm - 2}, {-100, 0, 150}));
}
