// SPDX-License-Identifier: Apache-2.0
#include "mesh/pinch_cut.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <vector>

using namespace holdshelf;

namespace {

/// Walked from -u over the front to +u, as sections are; a point each half millimetre.
OutsideLine walked(const std::vector<Eigen::Vector2d>& corners) {
  OutsideLine line;
  for (std::size_t i = 0; i + 1 < corners.size(); ++i) {
    const Eigen::Vector2d along = corners[i + 1] - corners[i];
    const int steps = std::max(1, static_cast<int>(std::lround(along.norm() / 0.5)));
    // The outward normal is to the left of the walk; facing 0 is along +z, 90 along +u.
    const double facing = std::atan2(-along.y(), along.x()) * 180 / M_PI;
    for (int k = 0; k < steps; ++k) {
      line.at_mm.push_back(corners[i] + along * k / steps);
      line.facing_deg.push_back(facing);
      line.points.push_back({line.at_mm.back(), 0, 0, 0});
    }
  }
  line.at_mm.push_back(corners.back());
  line.facing_deg.push_back(line.facing_deg.back());
  return line;
}

bool nowhere(double) { return false; }
bool everywhere(double, double) { return true; }

}  // namespace

TEST_CASE("pinchesIn: a bar's width, a wedge's taper and its width at the grip's height") {
  const auto bar = pinchesIn({walked({{-20, 0}, {-20, 40.3}, {20, 40.3}, {20, 0}})}, 40.3, {},
                             nowhere, everywhere);
  REQUIRE(bar.size() == 1);
  CHECK(bar[0].width_mm == doctest::Approx(40));
  CHECK(bar[0].middle_mm == doctest::Approx(0));
  CHECK(bar[0].taper_deg == doctest::Approx(0));
  CHECK(bar[0].depth_mm == doctest::Approx(15));
  // A face that leans by 10 degrees: 15 mm below the top it is 15 tan 10 farther out.
  const double lean = std::tan(10 * M_PI / 180);
  const auto wedge = pinchesIn({walked({{-20 - 40.3 * lean, 0}, {-20, 40.3}, {20, 40.3}, {20, 0}})},
                               40.3, {}, nowhere, everywhere);
  REQUIRE(wedge.size() == 1);
  CHECK(wedge[0].taper_deg == doctest::Approx(10).epsilon(0.01));
  CHECK(wedge[0].width_mm == doctest::Approx(40 + 15 * lean).epsilon(0.001));
}

TEST_CASE("pinchesIn: what a hand does not close on is no pinch") {
  const auto count = [](const OutsideLine& line) {
    return pinchesIn({line}, 60, {}, nowhere, everywhere).size();
  };
  CHECK(count(walked({{-60, 0}, {-60, 40}, {60, 40}, {60, 0}})) == 0);  // Too wide,
  CHECK(count(walked({{-20, 0}, {-20, 8}, {20, 8}, {20, 0}})) == 0);    // too low,
  CHECK(count(walked({{-60, 0}, {-20, 35}, {20, 35}, {60, 0}})) == 0);  // too slanted.
  // Two bars side by side are two.
  CHECK(count(walked(
            {{-40, 0}, {-40, 40}, {-20, 40}, {-20, 0}, {20, 0}, {20, 40}, {40, 40}, {40, 0}})) ==
        2);
}

TEST_CASE("pinchesIn: a bolt's recess counts as solid, faces out of reach do not count") {
  const OutsideLine line =
      walked({{-30, 0}, {-30, 40}, {-8, 40}, {-8, 5}, {8, 5}, {8, 40}, {30, 40}, {30, 0}});
  CHECK(pinchesIn({line}, 40, {}, nowhere, everywhere).size() == 2);
  const auto one = pinchesIn(
      {line}, 40, {}, [](double u) { return std::abs(u) < 10; }, everywhere);
  REQUIRE(one.size() == 1);
  CHECK(one[0].width_mm == doctest::Approx(60));
  CHECK(pinchesIn({line}, 40, {}, nowhere, [](double u, double) {
          return std::abs(u) > 20;
        }).empty());
}
