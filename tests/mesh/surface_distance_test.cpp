// SPDX-License-Identifier: Apache-2.0
#include "mesh/surface_distance.h"

#include <doctest/doctest.h>

#include <Eigen/Geometry>
#include <cmath>

#include "tests/shapes/plain_meshes.h"

using namespace holdshelf;

TEST_CASE("distanceBetween: two spheres about one centre lie their radii's difference apart") {
  const RegistrationTarget a(latitudeSphere({0, 0, 0}, 30, 80)),
      b(latitudeSphere({0, 0, 0}, 30.4, 80));
  const SurfaceDistance apart = distanceBetween(a, b, Eigen::Affine3d::Identity(), 1, 2000);
  // Facets of 2.25 degrees lie 30 (1 - cos 1.6 degrees) = 0.012 mm within the sphere at most.
  for (const double distance : {apart.median_mm, apart.p95_mm, apart.patch_p85_mm})
    CHECK(std::abs(distance - 0.4) < 0.013);
}

TEST_CASE("distanceBetween: in the size of a, whatever the size of b") {
  const RegistrationTarget a(latitudeSphere({0, 0, 0}, 30, 80)),
      b(latitudeSphere({5, 0, 0}, 15.2, 80));
  const Eigen::Affine3d b_to_a = Eigen::Scaling(2.0) * Eigen::Translation3d(-5, 0, 0);
  const SurfaceDistance apart = distanceBetween(a, b, b_to_a, 2, 2000);
  CHECK(std::abs(apart.median_mm - 0.4) < 0.013);
  CHECK(std::abs(apart.patch_p85_mm - 0.4) < 0.013);
}

TEST_CASE("distanceBetween: what goes out here and in there averages out over patches") {
  TriangleMesh rough = latitudeSphere({0, 0, 0}, 30, 80);
  for (std::size_t i = 0; i < rough.vertices_mm.size(); ++i)
    rough.vertices_mm[i] *=
        1 + (i % 2 ? 0.01 : -0.01);  // 0.3 mm either way, from vertex to vertex.
  const RegistrationTarget a(latitudeSphere({0, 0, 0}, 30, 80)), b(std::move(rough));
  const SurfaceDistance apart = distanceBetween(a, b, Eigen::Affine3d::Identity(), 1, 8000);
  CHECK(apart.p95_mm > 0.15);
  CHECK(apart.patch_p85_mm < 0.5 * apart.p95_mm);
}
