// SPDX-License-Identifier: Apache-2.0
#include "mesh/repair.h"

#include <doctest/doctest.h>

#include <string>

#include "mesh/bad_input.h"
#include "mesh/mesh_defects.h"
#include "tests/complaint.h"
#include "tests/mesh/prepared_hold.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/plain_meshes.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using namespace holdshelf::test;
using Eigen::Vector3d;

TEST_CASE("Repair: each defect is found, mended and told") {
  const TriangleMesh whole = edgeMesh();
  CHECK(repairMesh(whole).notes.empty());

  TriangleMesh soup;  // Every triangle with corners of its own, as text STL files have them.
  for (const auto& t : whole.triangles) {
    const int first = static_cast<int>(soup.vertices_mm.size());
    for (int k = 0; k < 3; ++k) soup.vertices_mm.push_back(whole.vertices_mm[t[k]]);
    soup.triangles.emplace_back(first, first + 1, first + 2);
  }
  CHECK(isWatertight(repairMesh(soup).mesh));

  TriangleMesh bad = whole;
  bad.triangles.push_back(bad.triangles[5]);  // Twice.
  bad.triangles.emplace_back(3, 3, 9);        // No area.
  bad.vertices_mm.emplace_back(0, 0, 500);    // Loose.
  for (int i = 100; i < 130; ++i)
    std::swap(bad.triangles[i][0], bad.triangles[i][1]);     // Turned over.
  bad.triangles.erase(bad.triangles.begin() + 400);          // A hole.
  const int far = static_cast<int>(bad.vertices_mm.size());  // A crumb.
  for (const Vector3d& v : {Vector3d(80, 0, 5), Vector3d(81, 0, 5), Vector3d(80, 1, 5)})
    bad.vertices_mm.push_back(v);
  bad.triangles.emplace_back(far, far + 1, far + 2);
  const Repaired repaired = repairMesh(bad);
  CHECK(isWatertight(repaired.mesh));
  CHECK(repaired.mesh.vertices_mm.size() == whole.vertices_mm.size());
  CHECK(repaired.notes.size() == 6);
  for (const std::string& note : repaired.notes) CHECK(note.back() == '.');

  TriangleMesh inside_out = whole;
  for (auto& t : inside_out.triangles) std::swap(t[0], t[1]);
  CHECK_FALSE(findDefects(repairMesh(inside_out).mesh).inside_out);
}

TEST_CASE("Repair refuses heaps of triangles") {
  TriangleMesh heap;
  for (int i = 0; i < 200; ++i) {
    const int first = static_cast<int>(heap.vertices_mm.size());
    const Vector3d at(i % 10 * 10, i / 10 * 10, i % 7);
    for (const Vector3d& d : {Vector3d(0, 0, 0), Vector3d(5, 0, 0), Vector3d(0, 5, 1)})
      heap.vertices_mm.push_back(at + d);
    heap.triangles.emplace_back(first, first + 1, first + 2);
  }
  CHECK(complaintOf([&] { repairMesh(heap); }).find("heap of triangles") != std::string::npos);
  TriangleMesh flat;
  flat.vertices_mm = {{0, 0, 0}, {1, 0, 0}, {2, 0, 0}};
  flat.triangles = {{0, 1, 2}};
  CHECK(complaintOf([&] { repairMesh(flat); }).find("any area") != std::string::npos);
}

TEST_CASE("withoutRepeats: a whole mesh stays itself, one triangle many times becomes one") {
  TriangleMesh mesh = rightTetrahedron({5, 4, 3});
  mesh.vertices_mm.emplace_back(2.5, 0, 0);
  mesh.triangles.emplace_back(0, 4, 1);  // On a line, but its neighbours may hang on it.
  const std::vector<Eigen::Vector3i> whole = mesh.triangles;
  CHECK(withoutRepeats(mesh).triangles == whole);
  for (int i = 0; i < 1000; ++i) {
    mesh.triangles.emplace_back(whole[i % 4]);
    mesh.triangles.emplace_back(1, 1, 2);
  }
  const TriangleMesh once = withoutRepeats(mesh);
  CHECK(once.triangles == whole);
  CHECK(once.vertices_mm == mesh.vertices_mm);
  mesh.triangles = {{1, 1, 2}};
  CHECK_THROWS_AS(withoutRepeats(mesh), BadInput);
}
