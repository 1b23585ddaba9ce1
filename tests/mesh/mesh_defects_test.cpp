// SPDX-License-Identifier: Apache-2.0
#include "mesh/mesh_defects.h"

#include <doctest/doctest.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <numeric>
#include <random>
#include <string>

#include "tests/complaint.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/plain_meshes.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;

TEST_CASE("findDefects: a whole hold has none") {
  const ExactHold hold = holdNamed("edge");
  const MeshDefects none = findDefects(meshSdf(hold.solid, hold.box_mm, 1));
  CHECK(none.border == 0);
  CHECK(none.pieces == 1);
  CHECK_FALSE(none.inside_out);
}

TEST_CASE("findDefects: each defect is counted") {
  TriangleMesh mesh = rightTetrahedron({1, 1, 1});
  mesh.vertices_mm.emplace_back(1 + 1e-12, 0, 0);  // Where vertex 1 is.
  mesh.vertices_mm.emplace_back(0.5, 0, 0);        // In the middle of an edge.
  mesh.vertices_mm.emplace_back(7, 7, 7);
  mesh.triangles.emplace_back(3, 2, 1);  // Twice, the other way round.
  mesh.triangles.emplace_back(0, 1, 5);  // On a line.
  const MeshDefects found = findDefects(mesh);
  CHECK(found.split_vertices == 1);
  CHECK(found.loose_vertices == 2);
  CHECK(found.duplicate == 1);
  CHECK(found.degenerate == 1);
  CHECK(found.surplus > 0);

  TriangleMesh turned = rightTetrahedron({1, 1, 1});
  std::swap(turned.triangles[2][0], turned.triangles[2][1]);
  CHECK(findDefects(turned).flipped == 3);  // Its three edges.
  for (auto& t : turned.triangles) std::swap(t[0], t[1]);
  std::swap(turned.triangles[2][0], turned.triangles[2][1]);
  CHECK(findDefects(turned).inside_out);

  TriangleMesh open = rightTetrahedron({1, 1, 1});
  open.triangles.pop_back();
  CHECK(findDefects(open).border == 3);
}

TEST_CASE("firstAtPlace: chains of near vertices are one place, others their own") {
  TriangleMesh mesh;  // 1000 mm across, so that a place is a millionth of a millimetre wide.
  mesh.vertices_mm = {{0, 0, 0}, {1e-6, 0, 0}, {1000, 0, 0}, {2e-6, 0, 0}, {1e-4, 0, 0}};
  CHECK(firstAtPlace(mesh) == std::vector<int>{0, 0, 2, 0, 4});
}

TEST_CASE("piecesOf: what shares but a vertex is another piece") {
  TriangleMesh mesh = rightTetrahedron({1, 1, 1});
  for (const Eigen::Vector3d& v : {Eigen::Vector3d(-1, 0, 0), Eigen::Vector3d(0, -1, 0)})
    mesh.vertices_mm.push_back(v);
  mesh.triangles.emplace_back(0, 4, 5);
  const MeshPieces pieces = piecesOf(buildTopology(mesh));
  CHECK(pieces.count == 2);
  CHECK(pieces.of_triangle == std::vector<int>{0, 0, 0, 0, 1});
}

TEST_CASE("repeatedTriangles: whatever turn and order, the first is none") {
  const std::vector<Eigen::Vector3i> triangles = {{5, 1, 9}, {1, 9, 5}, {0, 1, 2}, {9, 1, 5},
                                                  {1, 5, 8}, {2, 0, 1}, {1, 1, 5}, {5, 1, 1}};
  CHECK(repeatedTriangles(triangles) ==
        std::vector<bool>{false, true, false, true, false, true, false, true});
  CHECK(repeatedTriangles({}).empty());
}

TEST_CASE("firstAtPlace: as an obvious search finds, of holds written with every corner anew") {
  std::mt19937 random(20);
  std::uniform_real_distribution<double> jitter(-0.4e-9, 0.4e-9);
  for (const std::string name : {"edge", "dome"}) {
    CAPTURE(name);
    const ExactHold hold = holdNamed(name);
    const TriangleMesh whole = meshSdf(hold.solid, hold.box_mm, 6);
    TriangleMesh soup;
    for (const Eigen::Vector3i& t : whole.triangles)
      for (int k = 0; k < 3; ++k) {
        const double far = soup.vertices_mm.size() % 3 == 0 ? 20 : 0;  // Mostly the very digits.
        soup.vertices_mm.push_back(whole.vertices_mm[t[k]] +
                                   far * Eigen::Vector3d(jitter(random), jitter(random), 0));
      }
    double diagonal = 0;
    {
      Eigen::AlignedBox3d box;
      for (const Eigen::Vector3d& v : soup.vertices_mm) box.extend(v);
      diagonal = box.diagonal().norm();
    }
    // Labels spread over every pair that is close enough until nothing changes.
    std::vector<int> expected(soup.vertices_mm.size());
    std::iota(expected.begin(), expected.end(), 0);
    std::vector<std::pair<int, int>> close;
    for (std::size_t i = 0; i < expected.size(); ++i)
      for (std::size_t k = i + 1; k < expected.size(); ++k)
        if ((soup.vertices_mm[i] - soup.vertices_mm[k]).norm() <= 1e-9 * diagonal)
          close.emplace_back(static_cast<int>(i), static_cast<int>(k));
    REQUIRE(close.size() > 1000);
    for (bool changed = true; changed;) {
      changed = false;
      for (const auto& [a, b] : close) {
        const int low = std::min(expected[a], expected[b]);
        changed = changed || expected[a] != low || expected[b] != low;
        expected[a] = expected[b] = low;
      }
    }
    CHECK(firstAtPlace(soup) == expected);
  }
}

TEST_CASE(
    "firstAtPlace: a flat cut, a single place and a bar of steps do not meet each with each") {
  const int many = 300'000;  // Squared, minutes; as it was for a scan cut off at x = 0.
  TriangleMesh cut, one, steps;
  for (int i = 0; i < many; ++i) {
    cut.vertices_mm.emplace_back(0, 0.1 * (i % 600), 0.1 * (i / 600));
    one.vertices_mm.emplace_back(1, 2, i % 2 == 0 ? 0.0 : -0.0);
    steps.vertices_mm.emplace_back(0, 0, 1e-3 * i);
  }
  const auto placesOf = [](const TriangleMesh& mesh) {
    const std::vector<int> first = firstAtPlace(mesh);
    int places = 0;
    for (std::size_t v = 0; v < first.size(); ++v) places += first[v] == static_cast<int>(v);
    return places;
  };
  CHECK(placesOf(cut) == many);
  CHECK(placesOf(one) == 1);
  CHECK(placesOf(steps) == many);
}

TEST_CASE("firstAtPlace: a cloud closer than the mesh's digits is refused") {
  TriangleMesh mesh;
  mesh.vertices_mm.emplace_back(1e6, 0, 0);  // What lies far away makes everything near.
  for (int i = 0; i < 20'000; ++i)
    mesh.vertices_mm.emplace_back(1e-7 * (i % 100), 1e-7 * (i / 100), 0);
  CHECK(test::complaintOf([&] { firstAtPlace(mesh); }).find("closer to one another") !=
        std::string::npos);
}
