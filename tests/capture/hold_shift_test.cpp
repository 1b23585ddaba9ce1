// SPDX-License-Identifier: Apache-2.0
#include "capture/hold_shift.h"

#include <doctest/doctest.h>

#include "tests/capture/pushed_drums.h"

using namespace holdshelf;
using test::MatScene;
using test::pictures;

namespace {

SilhouetteInput inputOf(const MatScene& world) {
  SilhouetteInput input;
  input.mat = world.mat;
  input.mat_points_H_mm = world.points_H_mm;
  return input;
}

}  // namespace

TEST_CASE("findHoldShift: a hold that stands still, under a shadow that turns") {
  const MatScene world;
  const HoldShift shift = findHoldShift(pictures(world, 16, 0), inputOf(world), {});
  CHECK(shift.disagreement < 0.004);  // A third of what raises the alarm.
  CHECK_FALSE(shift.moved());
  CHECK_FALSE(shift.explained());
}

TEST_CASE("findHoldShift: a push of a tenth of the width is seen and dated") {
  const MatScene world;
  for (int pushed_from : {8, 11}) {
    CAPTURE(pushed_from);
    const HoldShift shift = findHoldShift(pictures(world, pushed_from, 6), inputOf(world), {});
    CHECK(shift.moved());
    CHECK(shift.explained());
    CHECK(int(shift.first_after) == pushed_from);
  }
}

TEST_CASE("findHoldShift: too few photos say nothing") {
  const MatScene world;
  std::vector<View> few = pictures(world, 8, 6);
  few.erase(few.begin() + 7, few.end());
  CHECK_FALSE(findHoldShift(few, inputOf(world), {}).moved());
}
