// SPDX-License-Identifier: Apache-2.0
#include "mesh/isosurface.h"

#include <doctest/doctest.h>

#include <Eigen/Geometry>
#include <cmath>
#include <functional>
#include <random>

using namespace holdshelf;
using Eigen::Vector3d;

static VoxelGrid sampled(int n, double cell_mm, const std::function<double(const Vector3d&)>& f) {
  VoxelGrid grid;
  grid.nodes = {n, n, n};
  grid.cell_mm = cell_mm;
  grid.origin_mm = -Vector3d::Constant(cell_mm * (n - 1) / 2);
  for (int z = 0; z < n; ++z)
    for (int y = 0; y < n; ++y)
      for (int x = 0; x < n; ++x)
        grid.value.push_back(static_cast<float>(f(grid.position_mm(x, y, z))));
  return grid;
}

static double signedVolume(const TriangleMesh& mesh) {
  double six = 0;
  for (const auto& t : mesh.triangles)
    six += mesh.vertices_mm[t[0]].dot(mesh.vertices_mm[t[1]].cross(mesh.vertices_mm[t[2]]));
  return six / 6;
}

TEST_CASE("isosurface: a sphere has its volume, outward triangles and no hole") {
  const double r = 10, cell = 0.5;
  const TriangleMesh mesh = isosurface(sampled(49, cell, [&](auto& p) { return p.norm() - r; }));
  CHECK(isWatertight(mesh));
  // Chords lie inside: relative loss of volume of order (cell / r)^2, positive sign = outward.
  const double exact = 4.0 / 3 * M_PI * r * r * r;
  CHECK(signedVolume(mesh) < exact);
  CHECK(signedVolume(mesh) > exact * (1 - 2 * cell * cell / (r * r)));
  for (const Vector3d& v : mesh.vertices_mm) CHECK(std::abs(v.norm() - r) < cell * cell / r);
}

TEST_CASE("isosurface: random fields give closed manifold meshes") {  // Every sign pattern occurs.
  std::mt19937 rng(3);
  std::normal_distribution<double> gauss;
  for (int i = 0; i < 5; ++i)
    CHECK(isWatertight(isosurface(sampled(12, 1, [&](auto&) { return gauss(rng); }))));
}

TEST_CASE("isosurface: a plane of exact zeros and a solid that fills the grid stay closed") {
  CHECK(isWatertight(isosurface(sampled(9, 1, [](auto& p) { return p.z(); }))));
  const TriangleMesh full = isosurface(sampled(9, 1, [](auto&) { return -1.0; }));
  CHECK(isWatertight(full));
  CHECK(isosurface(sampled(9, 1, [](auto&) { return 1.0; })).triangles.empty());
}

TEST_CASE("VoxelGrid: trilinear interpolation is exact for linear fields") {
  const VoxelGrid grid =
      sampled(8, 0.7, [](auto& p) { return 1 + 2 * p.x() - 3 * p.y() + 0.5 * p.z(); });
  CHECK(grid.interpolate({0.31, -1.2, 2.2}) == doctest::Approx(1 + 0.62 + 3.6 + 1.1).epsilon(1e-5));
}

TEST_CASE("keepLargestSolid: crumbs go, hollows are filled, open pockets stay") {
  VoxelGrid grid = sampled(41, 1, [](const Vector3d& p) {
    const double shell = std::max(p.norm() - 12, 6 - p.norm());  // A hollow ball.
    const double crumb = (p - Vector3d(17, 17, 17)).norm() - 2;
    const double bore = std::max(std::hypot(p.x() - 9, p.y()) - 1.6, -p.z());
    return std::max(std::min(shell, crumb), -bore);
  });
  keepLargestSolid(grid, 3);
  CHECK(grid.interpolate({0, 0, 0}) == doctest::Approx(-3));    // Hollow filled.
  CHECK(grid.interpolate({17, 17, 17}) == doctest::Approx(3));  // Crumb gone.
  CHECK(grid.interpolate({9, 0, 7}) > 0);                       // The pocket is open.
}
