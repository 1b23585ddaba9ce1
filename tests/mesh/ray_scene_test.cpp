// SPDX-License-Identifier: Apache-2.0
#include "mesh/ray_scene.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <random>

using namespace holdshelf;

/// The unit square z = 0 as two triangles, normals up.
static TriangleMesh square() {
  TriangleMesh mesh;
  mesh.vertices_mm = {{0, 0, 0}, {1, 0, 0}, {1, 1, 0}, {0, 1, 0}};
  mesh.triangles = {{0, 1, 2}, {0, 2, 3}};
  return mesh;
}

TEST_CASE("RayScene: a ray meets the plane where geometry says") {
  const RayScene scene(square());
  const auto hit = scene.firstHit({0.25, 0.5, 3}, {0, 0, -2});
  REQUIRE(hit);
  CHECK(hit->distance == doctest::Approx(1.5));
  CHECK(hit->normal.z() == doctest::Approx(1));
  CHECK_FALSE(scene.firstHit({1.25, 0.5, 3}, {0, 0, -1}));
  CHECK_FALSE(scene.firstHit({0.25, 0.5, 3}, {0, 0, -1}, 0, 2.9));
}

TEST_CASE("RayScene: a surface does not hide its own points") {
  const RayScene scene(square());
  CHECK_FALSE(scene.occluded({0.5, 0.25, 0}, {0.5, 0.25, 5}, 0.01));
  CHECK(scene.occluded({0.5, 0.25, -1}, {0.5, 0.25, 5}, 0.01));
}

TEST_CASE("RayScene: closest points on a square are the clamped projection") {  // Closed form.
  const RayScene scene(square());
  std::mt19937 rng(7);
  std::uniform_real_distribution<double> uniform(-2, 3);
  for (int i = 0; i < 500; ++i) {
    const Eigen::Vector3d p(uniform(rng), uniform(rng), uniform(rng));
    const Eigen::Vector3d truth(std::clamp(p.x(), 0.0, 1.0), std::clamp(p.y(), 0.0, 1.0), 0);
    const auto found = scene.closestPoint(p);
    REQUIRE(found);
    CHECK((found->point_mm - truth).norm() < 1e-6);
  }
  CHECK_FALSE(scene.closestPoint({0.5, 0.5, 2}, 1.0));
}
