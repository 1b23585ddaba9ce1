// SPDX-License-Identifier: Apache-2.0
#include "mesh/remesh.h"

#include <doctest/doctest.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>

#include "mesh/isosurface.h"

using namespace holdshelf;
using Eigen::Vector3d;

/// A half ball of radius r on the wall plane, from a field.
static TriangleMesh dome(double r, double cell) {
  VoxelGrid grid;
  const int n = static_cast<int>(2 * (r + 2) / cell) + 1;
  grid.nodes = {n, n, n / 2 + 3};
  grid.cell_mm = cell;
  grid.origin_mm = {-(r + 2), -(r + 2), -2 * cell};
  for (int z = 0; z < grid.nodes.z(); ++z)
    for (int y = 0; y < n; ++y)
      for (int x = 0; x < n; ++x) {
        const Vector3d p = grid.position_mm(x, y, z);
        grid.value.push_back(static_cast<float>(std::max(p.norm() - r, -p.z())));
      }
  TriangleMesh mesh = isosurface(grid);
  for (Vector3d& v : mesh.vertices_mm)
    if (std::abs(v.z()) < 1e-2 * cell) v.z() = 0;
  return mesh;
}

TEST_CASE("remesh: even triangles, closed, on the same surface") {
  const double r = 15;
  const TriangleMesh mesh = remesh(dome(r, 0.5), {.edge_mm = 0.8});
  CHECK(isWatertight(mesh));
  std::vector<double> edges;
  for (const auto& t : mesh.triangles)
    for (int k = 0; k < 3; ++k)
      edges.push_back((mesh.vertices_mm[t[k]] - mesh.vertices_mm[t[(k + 1) % 3]]).norm());
  std::sort(edges.begin(), edges.end());
  CHECK(edges[edges.size() / 50] > 0.8 * 0.5);
  CHECK(edges[edges.size() * 49 / 50] < 0.8 * 1.6);
  double worst = 0;
  for (const Vector3d& v : mesh.vertices_mm) {
    CHECK(v.z() > -1e-9);
    if (v.z() > 3) worst = std::max(worst, std::abs(v.norm() - r));
  }
  // A few sagittas of the longest edge: each move along a tangent leaves the sphere by one.
  CHECK(worst < 4 * std::pow(0.8 * 4 / 3, 2) / (8 * r));
}

TEST_CASE("remesh: an open mesh is a broken precondition") {
  TriangleMesh open = dome(5, 1);
  open.triangles.pop_back();
  CHECK_THROWS_AS(remesh(open, {}), std::invalid_argument);
}
