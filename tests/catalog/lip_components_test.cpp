// SPDX-License-Identifier: Apache-2.0
#include "catalog/lip_components.h"

#include <doctest/doctest.h>

#include <random>
#include <span>
#include <vector>

using namespace holdshelf;

namespace {

std::vector<LipCurve> randomCurves(std::size_t count, std::mt19937& random) {
  std::uniform_real_distribution<double> uniform(0, 1);
  std::vector<LipCurve> curves;
  for (std::size_t i = 0; i < count; ++i) {
    const SectionPath path = lipOfNumbers(1 + 15 * uniform(random), -40 + 70 * uniform(random),
                                          26 + 15 * uniform(random));
    curves.push_back(lipCurveAt(path, path[45]));
  }
  return curves;
}

double gapOf(const LipPlacement& placement, const LipCurve& curve) {
  return gapAfterShift(placement.at_mm, std::span(curve.at_mm)
                                            .subspan(static_cast<std::size_t>(placement.first),
                                                     placement.at_mm.size()));
}

}  // namespace

TEST_CASE("lip components: bounds are never above a gap, and most are near it") {
  std::mt19937 random(20310613);
  const std::vector<LipCurve> curves = randomCurves(400, random);
  const LipComponents components(curves.size(), [&](std::size_t i) { return curves[i]; });
  std::vector<LipComponents::Point> points;
  for (const LipCurve& curve : curves) points.push_back(components.describe(curve));
  LipComponents::Box box{points[0].at, points[0].at, points[0].rest};
  for (std::size_t i = 0; i < 40; ++i) {  // Around the first forty.
    for (std::size_t k = 0; k < LipComponents::kComponents; ++k) {
      box.least[k] = std::min(box.least[k], points[i].at[k]);
      box.most[k] = std::max(box.most[k], points[i].at[k]);
    }
    box.rest = std::max(box.rest, points[i].rest);
  }
  std::size_t compared = 0, near = 0;
  for (int trial = 0; trial < 12; ++trial) {
    LipPlacement wanted;  // A part of a lip that is in no sample.
    const LipCurve lip = randomCurves(1, random)[0];
    wanted.first = static_cast<int>(random() % 10);
    const std::size_t length = 12 + random() % 15;
    wanted.at_mm.assign(lip.at_mm.begin() + wanted.first,
                        lip.at_mm.begin() + wanted.first + static_cast<std::ptrdiff_t>(length));
    const LipComponents::Aim aim = components.aimOf(wanted);
    const float least = aim.bound(box);
    for (std::size_t i = 0; i < curves.size(); ++i) {
      const double gap_mm = gapOf(wanted, curves[i]);
      const float bound = aim.bound(points[i]);
      CHECK(bound <= gap_mm);
      if (i < 40) CHECK(least <= bound);
      ++compared;
      near += bound > 0.9 * gap_mm - 0.05 ? 1 : 0;
    }
  }
  CHECK(near > compared / 2);  // A bound of 0 would be none.
}

TEST_CASE("lip components: of a curve that its components make up nothing is left but steps") {
  // All on a line in the space of curves: from one curve to another.
  std::mt19937 random(3);
  const std::vector<LipCurve> ends = randomCurves(2, random);
  const auto between = [&](std::size_t i) {
    LipCurve curve = ends[0];
    for (std::size_t p = 0; p < curve.at_mm.size(); ++p)
      curve.at_mm[p] += 0.1F * static_cast<float>(i) * (ends[1].at_mm[p] - ends[0].at_mm[p]);
    return curve;
  };
  const LipComponents components(11, between);
  for (std::size_t i = 0; i < 11; ++i) {
    // Ten components, each to half a step of 0.01 mm, and 0.001 mm for the float sums.
    CHECK(components.describe(between(i)).rest < 0.005 * std::sqrt(10.0) + 0.002);
  }
  CHECK(components.describe(randomCurves(1, random)[0]).rest > 0.02);
}
