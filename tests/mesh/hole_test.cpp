// SPDX-License-Identifier: Apache-2.0
#include "mesh/hole.h"

#include <doctest/doctest.h>

#include <string>

#include "tests/complaint.h"

using namespace holdshelf;

namespace {

/// So many hollow boxes of 4 mm, side by side: seen from inside, each is a hole.
TriangleMesh hollows(int count) {
  TriangleMesh mesh;
  for (int i = 0; i < count; ++i) {
    const int at = static_cast<int>(mesh.vertices_mm.size());
    for (int k = 0; k < 8; ++k)
      mesh.vertices_mm.emplace_back(6 * (i % 40) + 4 * (k & 1), 6 * (i / 40) + 4 * (k >> 1 & 1),
                                    4 * (k >> 2 & 1));
    for (const Eigen::Vector3i& t : {Eigen::Vector3i(0, 3, 2),
                                     {0, 1, 3},
                                     {4, 7, 5},
                                     {4, 6, 7},
                                     {0, 5, 1},
                                     {0, 4, 5},
                                     {2, 7, 6},
                                     {2, 3, 7},
                                     {0, 6, 4},
                                     {0, 2, 6},
                                     {1, 7, 3},
                                     {1, 5, 7}})
      mesh.triangles.emplace_back(t + Eigen::Vector3i::Constant(at));
  }
  return mesh;
}

std::vector<Hole> holesOf(const TriangleMesh& mesh) {
  const MeshTopology topology = buildTopology(mesh);
  SectionCutter cutter(mesh, topology);
  return findHoles(cutter, mesh, planesAcross(Eigen::Vector3d::UnitZ()), 0.5, 3, 45);
}

}  // namespace

TEST_CASE("findHoles: each hollow is one, from its floor to its lid; a heap of them is refused") {
  const std::vector<Hole> three = holesOf(hollows(3));
  REQUIRE(three.size() == 3);
  for (const Hole& hole : three) {
    CHECK(hole.size() == 8);
    CHECK(hole.front().area_mm2 == doctest::Approx(16));
  }
  CHECK(holesOf(hollows(1000)).size() == 1000);
  CHECK(test::complaintOf([] { holesOf(hollows(1001)); }).find("more than 1000 holes") !=
        std::string::npos);
}
