// SPDX-License-Identifier: Apache-2.0
#include "mesh/mesh_defects.h"

#include <doctest/doctest.h>

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
