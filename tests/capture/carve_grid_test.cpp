// SPDX-License-Identifier: Apache-2.0
#include "capture/carve_grid.h"

#include <doctest/doctest.h>

#include <cmath>
#include <opencv2/imgproc.hpp>

#include "mesh/bad_input.h"
#include "tests/capture/sphere_views.h"

using namespace holdshelf;

namespace {

using Eigen::Vector3d;

}  // namespace

TEST_CASE("Carver: the strongest word counts, or the next where one may be outvoted") {
  const Vector3d centre(0, 0, 30);
  std::vector<View> views = test::ring(12, centre, 30);
  views[3].mask = 0;  // One that sees but a corner of the sphere.
  cv::circle(views[3].mask, {100, 100}, 10, 255, -1);
  const auto fields = outlineFields(views);
  CHECK(Carver(fields, 0, 0.3)(centre) > 10);
  CHECK(Carver(fields, 1, 0.3)(centre) < -25);
  CHECK(Carver(fields, 1, 0.3)(centre + Vector3d(0, 0, 45)) > 5);
  // In the frame of no view, hence of too few.
  std::vector<View> cut = {
      test::sphereView(test::lookingAt({350, 0, 30}, {0, 110, 30}), centre, 60)};
  CHECK(Carver(outlineFields(cut), 0, 0.3)({0, -150, 30}) == Carver::kFar);
}

TEST_CASE("gridOver: from corner to corner of the box, and not a cell more") {
  const VoxelGrid grid = gridOver({Vector3d(-5, 0, 2), Vector3d(5, 3, 2.5)}, 0.5);
  CHECK(grid.nodes == Eigen::Vector3i(21, 7, 3));
  CHECK(grid.position_mm(20, 6, 0) == Vector3d(5, 3, 2));
  CHECK(grid.value.size() == std::size_t(21 * 7 * 3));
}

TEST_CASE(
    "gridOver: a box without size or beyond all memory is refused, not cast to whole numbers") {
  const auto refused = [](const Eigen::AlignedBox3d& box, double cell) {
    CHECK_THROWS_WITH_AS(gridOver(box, cell), doctest::Contains("has no size, or is too large"),
                         BadInput);
  };
  const Vector3d corner(5, 5, 5);
  refused({corner, corner}, 0);  // As where a coarse grid is laid over a single point.
  refused({-corner, corner}, 1e-12);
  refused({-1e12 * corner, 1e12 * corner}, 0.5);
  CHECK(gridOver({corner, corner}, 1).nodes == Eigen::Vector3i(3, 3, 3));
}

TEST_CASE("carveGrid: blocks far from the outline have the sign of each of their samples") {
  const Vector3d centre(0, 0, 40);
  const auto fields = outlineFields(test::ring(12, centre, 30));
  const Carver carver(fields, 0, 0.3);
  VoxelGrid grid = gridOver({Vector3d(-45, -45, 0), Vector3d(45, 45, 90)}, 1.5);
  carveGrid(carver, grid, {});
  int wrong = 0, exact = 0;
  for (int z = 0; z < grid.nodes.z(); ++z)
    for (int y = 0; y < grid.nodes.y(); ++y)
      for (int x = 0; x < grid.nodes.x(); ++x) {
        const float there = carver(grid.position_mm(x, y, z)),
                    kept = grid.value[grid.index(x, y, z)];
        wrong += (there < 0) != (kept < 0);
        exact += there == kept;
      }
  CHECK(wrong == 0);
  CHECK(exact > int(grid.value.size()) / 20);
  CHECK_THROWS_AS(carveGrid(carver, grid, [](const auto&, double) { return false; }), Interrupted);
}
