// SPDX-License-Identifier: Apache-2.0
#include "catalog/finger_rods.h"

#include <doctest/doctest.h>

#include <initializer_list>
#include <vector>

using namespace holdshelf;

static bool passes(double width_mm) {
  const std::vector<OpeningStep> opening{{0, width_mm}, {30, width_mm}};
  return checkFingerRods(opening).passes;
}

TEST_CASE("checkFingerRods: 8 and 25 mm rods of EN 1176-1, as quoted in public guides") {
  CHECK(passes(7.9));  // The 8 mm rod does not enter.
  for (double width_mm : {8.0, 16.0, 24.9}) {
    CAPTURE(width_mm);
    CHECK_FALSE(passes(width_mm));
  }
  CHECK(passes(25.0));
  CHECK(passes(40.0));
}

TEST_CASE("checkFingerRods: a slot that tapers from 30 to 5 mm locks the 8 mm rod") {
  std::vector<OpeningStep> slot;
  for (double width_mm = 30; width_mm >= 5; width_mm -= 1)
    slot.push_back({30 - width_mm, width_mm});
  CHECK_FALSE(checkFingerRods(slot).passes);
  CHECK_FALSE(checkFingerRods(slot).reason.empty());
  // Coarse steps must not hide it.
  CHECK_FALSE(checkFingerRods(std::vector<OpeningStep>{{0, 30}, {25, 5}}).passes);
}

TEST_CASE("checkFingerRods: for holds it is an analogy: every one-finger pocket fails") {
  CHECK_FALSE(passes(22));  // A pocket for one finger is no defect of a hold.
  CHECK(checkFingerRods({}).passes);
}
