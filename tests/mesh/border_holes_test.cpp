// SPDX-License-Identifier: Apache-2.0
#include "mesh/border_holes.h"

#include <doctest/doctest.h>

#include <algorithm>

using namespace holdshelf;

namespace {

/// A square grid of n x n quadrilaterals without those that `gone` names.
TriangleMesh gridWithout(int n, const std::vector<int>& gone) {
  TriangleMesh mesh;
  for (int y = 0; y <= n; ++y)
    for (int x = 0; x <= n; ++x) mesh.vertices_mm.emplace_back(x, y, 0);
  for (int y = 0; y < n; ++y)
    for (int x = 0; x < n; ++x) {
      if (std::find(gone.begin(), gone.end(), y * n + x) != gone.end()) continue;
      const int a = y * (n + 1) + x, b = a + n + 1;
      mesh.triangles.emplace_back(a, a + 1, b + 1);
      mesh.triangles.emplace_back(a, b + 1, b);
    }
  return mesh;
}

}  // namespace

TEST_CASE("borderLoops: the outline and each hole, all of their edges") {
  const TriangleMesh mesh = gridWithout(6, {7, 21, 22});
  const auto loops = borderLoops(mesh, buildTopology(mesh));
  std::vector<std::size_t> lengths;
  for (const auto& loop : loops) lengths.push_back(loop.size());
  std::sort(lengths.begin(), lengths.end());
  CHECK(lengths == std::vector<std::size_t>{4, 6, 24});
}

TEST_CASE("closeSmallHoles: a hole is closed the way its neighbours face, the back stays open") {
  TriangleMesh mesh = gridWithout(20, {105, 250, 251});  // Its outline has 80 edges.
  CHECK(closeSmallHoles(mesh, buildTopology(mesh)) == 2);
  const MeshTopology closed = buildTopology(mesh);
  CHECK(closed.border_edges == 80);
  CHECK(closed.flipped_edges == 0);
  CHECK(mesh.triangles.size() == 2 * 20 * 20);
  // The only border of a mesh, and no crack: the back of an open scan.
  TriangleMesh scan = gridWithout(5, {});
  CHECK(closeSmallHoles(scan, buildTopology(scan)) == 0);
}

TEST_CASE("borderLoops: hundreds of thousands of loops that meet in one vertex") {
  TriangleMesh mesh;
  mesh.vertices_mm.emplace_back(0, 0, 0);
  const int leaves = 300'000;
  for (int i = 0; i < leaves; ++i) {
    mesh.vertices_mm.emplace_back(1, i, 0);
    mesh.vertices_mm.emplace_back(1, i + 0.5, 0);
    mesh.triangles.emplace_back(0, 2 * i + 1, 2 * i + 2);
  }
  const auto loops = borderLoops(mesh, buildTopology(mesh));
  // Followed as far as it goes, all of it is one way through the middle; each edge is in it once.
  std::size_t edges = 0;
  for (const auto& loop : loops) edges += loop.size();
  CHECK(edges == 3 * leaves);
}
