// SPDX-License-Identifier: Apache-2.0
#include "mesh/orientation.h"

#include <doctest/doctest.h>

#include <random>

#include "tests/shapes/plain_meshes.h"

using namespace holdshelf;

TEST_CASE("signedVolume_mm3: a tetrahedron's, wherever it lies; turned over it is negative") {
  TriangleMesh mesh = rightTetrahedron({3, 4, 5});
  for (Eigen::Vector3d& v : mesh.vertices_mm) v += Eigen::Vector3d(300, -200, 50);
  CHECK(signedVolume_mm3(mesh) == doctest::Approx(3 * 4 * 5 / 6.0));
  for (auto& t : mesh.triangles) std::swap(t[0], t[1]);
  CHECK(signedVolume_mm3(mesh) == doctest::Approx(-10));
}

TEST_CASE("turnTogether: a third of a sphere turned over comes back outward") {
  TriangleMesh mesh = latitudeSphere({0, 0, 0}, 10, 12);
  // Triangles at the poles have no area, but corners like others.
  std::erase_if(mesh.triangles, [&](const Eigen::Vector3i& t) {
    const auto& v = mesh.vertices_mm;
    return (v[t[1]] - v[t[0]]).cross(v[t[2]] - v[t[0]]).norm() < 1e-9;
  });
  const double whole = signedVolume_mm3(mesh);
  std::mt19937 random(7);
  std::size_t turned = 0;
  for (auto& t : mesh.triangles)
    if (random() % 3 == 0) std::swap(t[0], t[1]), ++turned;
  CHECK(turnTogether(mesh, buildTopology(mesh)) == turned);
  CHECK(signedVolume_mm3(mesh) == doctest::Approx(whole));
  CHECK(buildTopology(mesh).flipped_edges == 0);
}
