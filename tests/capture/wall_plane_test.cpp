// SPDX-License-Identifier: Apache-2.0
#include "capture/wall_plane.h"

#include <doctest/doctest.h>

#include <functional>
#include <random>

#include "capture/mat_file.h"
#include "tests/capture/mat_scene.h"

using namespace holdshelf;
using Eigen::Vector2d;
using Eigen::Vector3d;

namespace {

/// 9 x 7 markers of 25 mm, 6 mm apart, about the middle: corners all over the sheet.
std::vector<Vector2d> fullLayout() {
  std::vector<Vector2d> out;
  for (int row = 0; row < 7; ++row)
    for (int column = 0; column < 9; ++column)
      for (const auto& [dx, dy] : {std::pair(0, 0), {25, 0}, {25, -25}, {0, -25}})
        out.emplace_back(31.0 * column - 136.5 + dx, 105.5 - 31.0 * row + dy);
  return out;
}

std::vector<Vector3d> raised(const std::vector<Vector2d>& layout,
                             const std::function<double(const Vector2d&)>& height) {
  std::vector<Vector3d> out;
  for (const auto& X : layout) out.emplace_back(X.x(), X.y(), height(X));
  return out;
}

}  // namespace

TEST_CASE("fitWallPlane: a tilted plane becomes z = 0, the mat's origin its own foot") {
  const auto layout = fullLayout();
  const auto corners =
      raised(layout, [](const Vector2d& X) { return 0.7 + 0.01 * X.x() - 0.02 * X.y(); });
  const WallPlane wall = fitWallPlane(corners, layout, std::vector<int>(layout.size(), 20));
  for (const auto& X : corners) CHECK(std::abs((wall.T_wall_mat * X).z()) < 1e-9);
  CHECK((wall.T_wall_mat * Vector3d(0, 0, 0.7)).norm() < 1e-9);
  // The least turn that does it: the angle between the normals.
  CHECK(Eigen::AngleAxisd(wall.T_wall_mat.linear()).angle() ==
        doctest::Approx(std::atan(std::hypot(0.01, 0.02))));
}

TEST_CASE("fitWallPlane: paper lifted at its edges leaves the table where the hold stands") {
  // Flat to 50 mm from the middle, then rising to 1.2 mm at 137 mm: a plain fit lies 0.3 mm high.
  const auto layout = fullLayout();
  std::mt19937 random(5);
  std::normal_distribution<double> noise(0, 0.015);
  const auto corners = raised(layout, [&](const Vector2d& X) {
    const double beyond = std::max(0.0, std::abs(X.x()) - 50) / 87;
    return 1.2 * beyond * beyond + noise(random);
  });
  const WallPlane wall = fitWallPlane(corners, layout, std::vector<int>(layout.size(), 20));
  CHECK(std::abs((wall.T_wall_mat * Vector3d::Zero()).z()) < 0.03);
  CHECK(wall.sigma_mm < 0.05);
}

TEST_CASE("fitWallPlane: corners that nobody saw do not count") {
  const auto layout = fullLayout();
  auto corners = raised(layout, [](const Vector2d&) { return 0.0; });
  std::vector<int> seen(layout.size(), 20);
  for (size_t i = 0; i < layout.size(); ++i)
    if (layout[i].norm() < 60) corners[i].z() = -2, seen[i] = 2;
  CHECK(std::abs((fitWallPlane(corners, layout, seen).T_wall_mat * Vector3d::Zero()).z()) < 1e-6);
  // Without three seen corners there is nothing to fit: the mat's frame stays.
  CHECK(fitWallPlane(corners, layout, std::vector<int>(layout.size(), 0))
            .T_wall_mat.matrix()
            .isIdentity());
}
