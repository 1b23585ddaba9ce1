// SPDX-License-Identifier: Apache-2.0
#include "catalog/wear.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <random>

#include "mesh/measure_shape.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;

namespace {

TriangleMesh edgeMesh(double lip_radius_mm) {
  EdgeSpec spec;
  spec.lip_radius_mm = lip_radius_mm;
  const ExactHold hold = edgeHold(spec);
  return meshSdf(hold.solid, hold.box_mm, 0.8);
}

TriangleMesh noisy(TriangleMesh mesh, double noise_mm, unsigned seed) {
  std::mt19937 random(seed);
  std::normal_distribution<double> noise(0, noise_mm);
  for (auto& v : mesh.vertices_mm)
    v += Eigen::Vector3d(noise(random), noise(random), noise(random));
  return mesh;
}

}  // namespace

TEST_CASE("compareScans: a lip that grew by 2 mm is worn, by its exact growth") {
  const TriangleMesh fresh = edgeMesh(4);
  const Wear wear = compareScans(fresh, measureShape(fresh), edgeMesh(6));
  CHECK(wear.grade().starts_with("worn"));
  // At rotation 0 the section is exactly the profile: 4 mm became 6 mm.
  const auto lip = std::find_if(wear.lips().begin(), wear.lips().end(),
                                [](const LipChange& l) { return l.rotation_deg() == 0; });
  REQUIRE(lip != wear.lips().end());
  CHECK(lip->sure());
  CHECK(lip->radius_growth_mm().value() == doctest::Approx(2).epsilon(0.15));
  CHECK(wear.lost_mm3().value() > 0);
}

TEST_CASE("compareScans: two scans of the same hold raise no alarm") {
  const TriangleMesh fresh = edgeMesh(4);
  const TriangleMesh first = noisy(fresh, 0.05, 1);
  const Shape shape = measureShape(first);
  for (unsigned seed = 2; seed < 5; ++seed) {
    CAPTURE(seed);
    const Wear wear = compareScans(first, shape, noisy(fresh, 0.05, seed));
    CAPTURE(wear.reason());
    CHECK(wear.grade() == "none seen");
    CHECK(wear.chunks().empty());
  }
}
