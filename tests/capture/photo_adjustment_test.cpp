// SPDX-License-Identifier: Apache-2.0
#include "capture/photo_adjustment.h"

#include <doctest/doctest.h>

#include <vector>

#include "mesh/bad_input.h"

using namespace holdshelf;

namespace {

/// A bundle that puts two markers of 30 mm so far off their places.
MatBundle bundleOff(const std::vector<Eigen::Vector2d>& layout, double off_mm) {
  MatBundle bundle;
  for (const Eigen::Vector2d& c : layout)
    bundle.corners_A_mm.emplace_back(c.x() + off_mm, c.y(), 0.5);  // Its height is no fault.
  bundle.seen.assign(layout.size(), 5);
  return bundle;
}

}  // namespace

TEST_CASE(
    "requireLayout: markers of the wrong mat file are refused, bent and shrunk paper is not") {
  const std::vector<Eigen::Vector2d> layout = {{0, 30},  {30, 30}, {30, 0}, {0, 0},
                                               {50, 30}, {80, 30}, {80, 0}, {50, 0}};
  CHECK_NOTHROW(requireLayout(bundleOff(layout, 1.1), layout));  // 0.04 of 30 mm are 1.2.
  CHECK_THROWS_AS(requireLayout(bundleOff(layout, 1.3), layout), BadInput);
  MatBundle guessed = bundleOff(layout, 0);
  guessed.corners_A_mm[3].x() += 20;  // Guesswork from its neighbours:
  guessed.seen[3] = 2;                // seen too seldom to be held against the file.
  CHECK_NOTHROW(requireLayout(guessed, layout));
}
