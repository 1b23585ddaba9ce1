// SPDX-License-Identifier: Apache-2.0
#include "catalog/lip_probe.h"

#include <doctest/doctest.h>

#include <cmath>

#include "mesh/bad_input.h"

using namespace holdshelf;
using Eigen::Vector2d;

namespace {

LipCurve curveOf(double radius_mm, double incut_deg, double depth_mm) {
  const SectionPath path = lipOfNumbers(radius_mm, incut_deg, depth_mm);
  return lipCurveAt(path, path[46]);  // Half way round the arc.
}

}  // namespace

TEST_CASE("lip probe: a drawn part of a lip lies on the whole of it") {
  const LipCurve curve = curveOf(6, 12, 30);
  SectionPath whole = lipOfNumbers(6, 12, 30);
  CHECK(bestPlacement(probeDrawn(whole), curve).second < 0.05);
  SectionPath face(whole.begin(), whole.end() - 20);  // Ends within the arc.
  CHECK(bestPlacement(probeDrawn(face), curve).second < 0.05);
  SectionPath grip(whole.begin() + 12, whole.end() - 1);  // Begins within it, without the root.
  CHECK(bestPlacement(probeDrawn(grip), curve).second < 0.05);
}

TEST_CASE("lip probe: the gap of two corners of different incut is what geometry says") {
  // Two sharp right angles, one with its grip face turned by d: beyond the middle, point i lies
  // 2 i sin(d / 2) off; the shift takes the mean out. Against bestPlacement without other shifts.
  const auto corner = [](double incut_deg) {
    const double turn = incut_deg * M_PI / 180;
    return SectionPath{{-20, 0}, {0, 0}, {30 * std::sin(turn), -30 * std::cos(turn)}};
  };
  const LipCurve square = lipCurveAt(corner(0), {0, 0}), turned = lipCurveAt(corner(10), {0, 0});
  const double angle = 10 * M_PI / 180, per_mm = 2 * std::sin(angle / 2);
  double sum = 0, squares = 0;
  for (int i = 1; i <= LipCurve::kAfter; ++i) sum += per_mm * i, squares += std::pow(per_mm * i, 2);
  const double n = LipCurve::kPoints;
  CHECK(std::abs(gapAfterShift(square.at_mm, turned.at_mm) -
                 std::sqrt(squares / n - std::pow(sum / n, 2))) < 1e-3);
  const LipPlacement whole{0, {square.at_mm.begin(), square.at_mm.end()}};
  const LipOverlay laid = overlay(whole, turned);
  CHECK(std::abs(laid.gap_mm - gapAfterShift(square.at_mm, turned.at_mm)) < 1e-4);
  CHECK(laid.gap_95_mm > laid.gap_mm);
  CHECK(laid.wanted_mm.size() == LipCurve::kPoints);
}

TEST_CASE("lip probe: shifts along the line, not turns") {
  const LipCurve curve = curveOf(5, 0, 30);
  // The same lip whose middle was taken 1.3 mm further along.
  const SectionPath path = lipOfNumbers(5, 0, 30);
  const LipCurve later = lipCurveAt(path, path[46] + Vector2d(0.6, -1.15));
  CHECK(gapAfterShift(curve.at_mm, later.at_mm) > 0.2);
  CHECK(bestPlacement(probeLike(curve), later).second < 0.15);
  // A lip that slopes 20 degrees more stays far: nothing is turned.
  CHECK(bestPlacement(probeLike(curve), curveOf(5, -20, 30)).second > 1);
}

TEST_CASE("lip probe: what cannot be searched for") {
  CHECK_THROWS_AS(probeDrawn({{0, 0}}), BadInput);
  CHECK_THROWS_AS(probeDrawn({{0, 0}, {3, 0}, {3, -3}}), BadInput);  // Too short.
  CHECK_THROWS_AS(probeDrawn({{0, 0}, {30, 0}}), BadInput);          // No lip.
  CHECK_THROWS_AS(probeDrawn({{0, 0}, {20, NAN}, {30, -20}}), BadInput);
  SectionPath long_way = {{0, 0}};  // There and back again, ever at the same places.
  for (int i = 0; i < 150; ++i) long_way.emplace_back(i % 2 == 0 ? 20 : 0, i % 2 == 0 ? -1 : 0);
  CHECK_THROWS_WITH_AS(probeDrawn(long_way), doctest::Contains("longer than 2 m"), BadInput);
  CHECK_THROWS_AS(lipOfNumbers(0, 0), BadInput);
  CHECK_THROWS_AS(lipOfNumbers(20, 0, 10), BadInput);
}
