// SPDX-License-Identifier: Apache-2.0
#include "mesh/reach.h"

#include <doctest/doctest.h>

#include <cmath>

#include "tests/complaint.h"
#include "tests/shapes/plain_meshes.h"

using namespace holdshelf;

TEST_CASE("ReachField: a finger touches a ball's front and not its seat on the wall") {
  const TriangleMesh mesh = latitudeSphere({0, 0, 20}, 20, 40);
  const ReachField reach(mesh);
  CHECK(reach.gap_mm({0, 0, 40}) < 1);
  // It rolls up to where ball and wall both touch it; from there to the seat is as far again.
  const double away = std::sqrt(4 * 20 * 8);  // Radii of 20 and 8 mm on one plane.
  CHECK(reach.gap_mm({0, 0, 0}) == doctest::Approx(std::hypot(away, 8) - 8).epsilon(0.06));
}

TEST_CASE("ReachField: triangles over one another, thousands of times, are refused") {
  TriangleMesh mesh = rightTetrahedron({400, 300, 200});
  CHECK(test::complaintOf([&] { ReachField{mesh}; }).empty());
  mesh.triangles.insert(mesh.triangles.end(), 2'000'000, mesh.triangles[0]);
  CHECK(test::complaintOf([&] { ReachField{mesh}; }).find("over one another") != std::string::npos);
}

TEST_CASE("ReachField: on a grid coarser than two fingers only the solid is out of reach") {
  const TriangleMesh mesh = rightTetrahedron({9000, 9000, 9000});
  const ReachField reach(mesh);
  REQUIRE(reach.spacing_mm() > 32);
  CHECK(reach.gap_mm({6000, 6000, 6000}) == 0);
  CHECK(reach.gap_mm({1000, 1000, 1000}) > 500);
}
