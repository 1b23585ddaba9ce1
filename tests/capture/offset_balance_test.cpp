// SPDX-License-Identifier: Apache-2.0
#include "capture/offset_balance.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>
#include <vector>

using namespace holdshelf;

namespace {

/// A closed octahedron subdivided to a ball of 10 mm: 4^n * 8 triangles.
TriangleMesh ball(int times) {
  TriangleMesh mesh;
  mesh.vertices_mm = {{1, 0, 0}, {-1, 0, 0}, {0, 1, 0}, {0, -1, 0}, {0, 0, 1}, {0, 0, -1}};
  mesh.triangles = {{0, 2, 4}, {2, 1, 4}, {1, 3, 4}, {3, 0, 4},
                    {2, 0, 5}, {1, 2, 5}, {3, 1, 5}, {0, 3, 5}};
  for (int i = 0; i < times; ++i) {
    std::map<std::pair<int, int>, int> middle;
    const auto between = [&](int a, int b) {
      const auto [at, fresh] = middle.try_emplace({std::min(a, b), std::max(a, b)},
                                                  static_cast<int>(mesh.vertices_mm.size()));
      if (fresh) mesh.vertices_mm.push_back(mesh.vertices_mm[a] + mesh.vertices_mm[b]);
      return at->second;
    };
    std::vector<Eigen::Vector3i> finer;
    for (const Eigen::Vector3i& t : mesh.triangles) {
      const int a = between(t[0], t[1]), b = between(t[1], t[2]), c = between(t[2], t[0]);
      for (const Eigen::Vector3i& f : {Eigen::Vector3i(t[0], a, c), Eigen::Vector3i(a, t[1], b),
                                       Eigen::Vector3i(c, b, t[2]), Eigen::Vector3i(a, b, c)})
        finer.push_back(f);
    }
    mesh.triangles = std::move(finer);
    for (Eigen::Vector3d& v : mesh.vertices_mm) v.normalize();
  }
  mesh.normals = mesh.vertices_mm;
  for (Eigen::Vector3d& v : mesh.vertices_mm) v *= 10;
  return mesh;
}

}  // namespace

TEST_CASE(
    "balanceOffsets: an offset that all photos agree on is taken; one at odds is smoothed away") {
  const TriangleMesh mesh = ball(3);
  const auto rings = vertexRings(mesh);
  const std::vector<char> pinned(mesh.vertices_mm.size(), 0);
  std::vector<VertexFinding> findings(mesh.vertices_mm.size(), VertexFinding{0.2, 0.02, true, 0});
  const Balance all = balanceOffsets(mesh, {rings, pinned, findings, {}});
  // A ball that grows by 0.2 mm bends less, but by far less than the photos are sure.
  for (const double offset : all.offset_mm) CHECK(std::abs(offset - 0.2) < 0.02);
  findings.assign(findings.size(), VertexFinding{0, 0.02, true, 0});
  findings[40] = {1.0, 0.5, true, 0};  // One vertex at odds, and unsure.
  const Balance one = balanceOffsets(mesh, {rings, pinned, findings, {}});
  CHECK(std::abs(one.offset_mm[40]) < 0.1);
}

TEST_CASE("balanceOffsets: pinned vertices stay, outlines pull where photos say nothing") {
  const TriangleMesh mesh = ball(2);
  const auto rings = vertexRings(mesh);
  std::vector<char> pinned(mesh.vertices_mm.size(), 0);
  pinned[7] = 1;
  const std::vector<VertexFinding> silent(mesh.vertices_mm.size());
  std::vector<OutlinePull> pulls(mesh.vertices_mm.size());
  for (OutlinePull& pull : pulls) pull.offset_mm = 0.3, pull.sigma_mm = 0.01;
  const Balance found = balanceOffsets(mesh, {rings, pinned, silent, pulls});
  CHECK(found.offset_mm[7] == 0);
  for (std::size_t v = 0; v < pinned.size(); ++v)
    if (!pinned[v]) CHECK(std::abs(found.offset_mm[v] - 0.3) < 0.05);
}

TEST_CASE("vertexRings: each neighbour of a closed mesh once") {
  const auto rings = vertexRings(ball(0));
  for (int v = 0; v < 6; ++v) {
    std::vector<int> ring = rings[static_cast<std::size_t>(v)];
    std::sort(ring.begin(), ring.end());
    CHECK(ring.size() == 4);
    CHECK(std::unique(ring.begin(), ring.end()) == ring.end());
    CHECK(std::find(ring.begin(), ring.end(), v ^ 1) == ring.end());  // All but the opposite one.
  }
}
