// SPDX-License-Identifier: Apache-2.0
#include "capture/seat_sweep.h"

#include <doctest/doctest.h>

#include <cmath>

#include "tests/capture/recess_scene.h"

using namespace holdshelf;
using Eigen::Vector3d;

TEST_CASE("findSeatFloor: the height where twelve photos of a ring agree, within what is stated") {
  const RayScene nothing = farAway();
  for (double floor : {12.3, 18.0, 24.7}) {
    CAPTURE(floor);
    const auto found = findSeatFloor(recessIn(kTop_mm), ring(12, 62, floor), nothing);
    REQUIRE(found);
    CHECK(std::abs(found->height_mm - floor) < 0.15);
    CHECK(std::abs(found->height_mm - floor) < 3 * found->sigma_mm);
    CHECK(found->sigma_mm < 0.2);
    CHECK(found->agreement > 0.7);
    CHECK(found->seen_share > 0.3);
  }
}

TEST_CASE("findSeatFloor: three photos from straight above see all of a deep floor") {
  const RayScene nothing = farAway();
  const auto found = findSeatFloor(recessIn(kTop_mm), ring(3, 80, 2.5), nothing);
  REQUIRE(found);
  CHECK(std::abs(found->height_mm - 2.5) < 0.3);
  CHECK(found->seen_share > 0.6);
  CHECK(found->photos == 3);
}

TEST_CASE("findSeatFloor: too deep, too few, or nothing to agree on is said, not guessed") {
  const RayScene nothing = farAway();
  // From 45 degrees a recess as deep as 24 mm shows nothing of a floor 20 mm wide.
  CHECK_FALSE(findSeatFloor(recessIn(kTop_mm), ring(12, 45, 10), nothing));
  CHECK_FALSE(findSeatFloor(recessIn(kTop_mm), {photoFrom(0, 62, 20)}, nothing));
  std::vector<View> blank = ring(12, 62, 20);
  for (View& view : blank) view.bgr.setTo(cv::Scalar(90, 90, 90));
  CHECK_FALSE(findSeatFloor(recessIn(kTop_mm), blank, nothing));
}
