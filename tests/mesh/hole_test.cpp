// SPDX-License-Identifier: Apache-2.0
#include "mesh/hole.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>
#include <string>

#include "tests/complaint.h"

using namespace holdshelf;

namespace {

/// So many hollow boxes of 4 mm, so far apart: seen from inside, each is a hole.
TriangleMesh hollows(int count, int apart_mm = 6) {
  TriangleMesh mesh;
  for (int i = 0; i < count; ++i) {
    const int at = static_cast<int>(mesh.vertices_mm.size());
    for (int k = 0; k < 8; ++k)
      mesh.vertices_mm.emplace_back(apart_mm * (i % 40) + 4 * (k & 1),
                                    apart_mm * (i / 40) + 4 * (k >> 1 & 1), 4 * (k >> 2 & 1));
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

/// A face of so many millimetres a side, rough as grit is: waves of random directions.
TriangleMesh grit(int side_mm) {
  std::mt19937 random(1);
  std::normal_distribution<double> wave(0, 0.5);
  std::uniform_real_distribution<double> phase(0, 2 * M_PI);
  std::vector<Eigen::Vector3d> waves;
  for (int i = 0; i < 30; ++i) waves.emplace_back(wave(random), wave(random), phase(random));
  TriangleMesh mesh;
  for (int y = 0; y <= side_mm; ++y)
    for (int x = 0; x <= side_mm; ++x) {
      double z = 0;
      for (const Eigen::Vector3d& w : waves) z += std::cos(w.x() * x + w.y() * y + w.z());
      mesh.vertices_mm.emplace_back(x, y, 0.07 * z);
    }
  for (int y = 0; y < side_mm; ++y)
    for (int x = 0; x < side_mm; ++x) {
      const int at = y * (side_mm + 1) + x, over = at + side_mm + 1;
      mesh.triangles.emplace_back(at, at + 1, over);
      mesh.triangles.emplace_back(at + 1, over + 1, over);
    }
  return mesh;
}

}  // namespace

TEST_CASE("findHoles: each hollow is one, from its floor to its lid; a heap of them is refused") {
  const std::vector<Hole> three = holesOf(hollows(3));
  REQUIRE(three.size() == 3);
  for (const Hole& hole : three) {
    CHECK(hole.size() == 8);
    CHECK(hole.front().area_mm2 == doctest::Approx(16));
  }
  CHECK(holesOf(hollows(3000)).size() == 3000);
  CHECK(holesOf(hollows(1000, 0)).size() == 1000);
  CHECK(test::complaintOf([] { holesOf(hollows(1001, 0)); }).find("lie over one another") !=
        std::string::npos);
}

TEST_CASE("findHoles: a plane within the roughness of a large face meets rings, and no holes") {
  const TriangleMesh face = grit(700);
  const MeshTopology topology = buildTopology(face);
  SectionCutter cutter(face, topology);
  PlaneFamily middle = planesAcross(Eigen::Vector3d::UnitZ());
  middle.count = 1;
  std::size_t rings = 0;
  cutter.cut(middle, [&](int, const SectionLines& lines) { rings = lines.size(); });
  REQUIRE(rings > 2000);
  CHECK(holesOf(face).size() < 100);
}

TEST_CASE("CloseLooks: of a larger mesh fewer holes can be looked at") {
  CloseLooks looks(20'000'000);
  for (int i = 0; i < 5000; ++i) looks.take();
  CHECK(test::complaintOf([&] { looks.take(); }).find("more than 5000 holes") != std::string::npos);
}
