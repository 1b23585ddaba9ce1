// SPDX-License-Identifier: Apache-2.0
#include "catalog/wanted_lip.h"

#include <doctest/doctest.h>

#include "mesh/bad_input.h"

using namespace holdshelf;

namespace {

LipCurve curveOf(double radius_mm) {
  const SectionPath path = lipOfNumbers(radius_mm, 0, 24);
  return lipCurveAt(path, path[path.size() / 2]);
}

LipCurve nobody() {
  FAIL("asked for a hold's lip");
  return {};
}

/// Where a row's edges are so deep, and nothing is known of forces.
SearchRow edges(const std::vector<std::pair<float, float>>& rotations_and_depths) {
  SearchRow row;
  NumberTable& table = row.numbers.at(static_cast<std::size_t>(NumberGroup::Grip));
  for (const auto& [rotation_deg, depth_mm] : rotations_and_depths) {
    std::vector<float> values(columnCount(NumberGroup::Grip), 0);
    values[numberKind("edge-depth")->column] = depth_mm;
    table.values.insert(table.values.end(), values.begin(), values.end());
    table.rotation_deg.push_back(rotation_deg);
    ++table.rows;
  }
  return row;
}

}  // namespace

TEST_CASE("wanted lip: one of three, and only one") {
  LipQuery wanted;
  CHECK_THROWS_AS(probeOf(wanted, nobody), BadInput);
  wanted.set_radius_mm(5);
  CHECK_FALSE(probeOf(wanted, nobody).empty());
  wanted.set_like("H-0001");
  CHECK_THROWS_AS(probeOf(wanted, nobody), BadInput);
  wanted.clear_radius_mm();
  const LipCurve curve = curveOf(8);
  const LipProbe probe = probeOf(wanted, [&] { return curve; });
  CHECK(bestPlacement(probe, curve).second < 1e-3);
  CHECK(bestPlacement(probe, curveOf(3)).second > 0.3);
}

TEST_CASE("wanted lip: drawn points are mm from the wall and mm up") {
  LipQuery wanted, numbers;
  for (const auto& p : lipOfNumbers(8, -10, 24)) {
    Point2& point = *wanted.add_points_mm();
    point.set_x(p.y());
    point.set_y(p.x());
  }
  numbers.set_radius_mm(8);
  numbers.set_incut_deg(-10);
  numbers.set_depth_mm(24);
  const LipProbe drawn = probeOf(wanted, nobody), same = probeOf(numbers, nobody);
  REQUIRE(drawn.size() == same.size());
  for (std::size_t i = 0; i < drawn.size(); ++i) {
    REQUIRE(drawn[i].at_mm.size() == same[i].at_mm.size());
    CHECK((drawn[i].at_mm[0] - same[i].at_mm[0]).norm() < 1e-4F);
  }
}

TEST_CASE("wanted lip: of a hold that at the rotation, else where its edge is deepest") {
  // Rotations 350 to 10, 90 to 100 and 180.
  const std::vector<LipRun> runs = {{70, 5, curveOf(2)}, {18, 3, curveOf(6)}, {36, 1, curveOf(12)}};
  const auto isOf = [&](const LipCurve& curve, std::size_t run) {
    CHECK(curve.at_mm == runs[run].curve.at_mm);
  };
  const SearchRow row = edges({{0, 14}, {95, 20}, {180, 19}});
  isOf(standingLip(row, runs, std::nullopt), 1);
  isOf(standingLip(row, runs, 0), 0);
  isOf(standingLip(row, runs, 180), 2);
  isOf(standingLip(row, runs, 340), 0);                 // 10 from one end.
  isOf(standingLip(row, runs, 130), 1);                 // 30 from it, 50 from the next.
  isOf(standingLip(edges({}), runs, std::nullopt), 0);  // Nothing is known: as it was scanned.
}
