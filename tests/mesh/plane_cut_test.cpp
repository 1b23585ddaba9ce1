// SPDX-License-Identifier: Apache-2.0
#include "mesh/plane_cut.h"

#include <doctest/doctest.h>

#include <Eigen/Geometry>
#include <cmath>

#include "mesh/bad_input.h"
#include "tests/shapes/sdf.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using Eigen::Vector3d;

namespace {

Eigen::AlignedBox3d around(double r) { return {Vector3d(-r, -r, -r), Vector3d(r, r, r)}; }

PlaneCut cut(const TriangleMesh& mesh, const Vector3d& normal, double offset) {
  return cutByPlane(mesh, buildTopology(mesh), normal, offset);
}

}  // namespace

TEST_CASE("Any plane through a sphere cuts the circle of geometry") {
  const TriangleMesh mesh = meshSdf(sphere(40), around(41), 0.8);
  for (const Vector3d& normal : {Vector3d(1, 2, 3), Vector3d(0, 0, -2), Vector3d(-1, 0.1, 0)})
    for (double offset : {-25.0, 0.0, 10.0}) {
      const PlaneCut c = cut(mesh, normal, offset);
      REQUIRE(c.lines_size() == 1);
      CHECK(c.lines(0).closed());
      const double r2 = 1600 - offset * offset;
      CHECK(c.area_mm2() == doctest::Approx(M_PI * r2).epsilon(1e-3));
      CHECK(c.length_mm() == doctest::Approx(2 * M_PI * std::sqrt(r2)).epsilon(1e-3));
    }
}

TEST_CASE("A ring's hole is no area; the regular hexagon of a cube") {
  const PlaneCut ring = cut(meshSdf(torus(50, 15), around(66), 1), {0, 0, 1}, 0);
  CHECK(ring.lines_size() == 2);
  CHECK(ring.area_mm2() == doctest::Approx(M_PI * (65 * 65 - 35 * 35)).epsilon(1e-3));
  // The plane square to a cube's diagonal through its middle: six sides of a / sqrt 2.
  TriangleMesh cube;
  for (int k = 0; k < 8; ++k)
    cube.vertices_mm.emplace_back((k & 1) * 60, (k >> 1 & 1) * 60, (k >> 2 & 1) * 60);
  cube.triangles = {{0, 2, 3}, {0, 3, 1}, {4, 5, 7}, {4, 7, 6}, {0, 1, 5}, {0, 5, 4},
                    {2, 6, 7}, {2, 7, 3}, {0, 4, 6}, {0, 6, 2}, {1, 3, 7}, {1, 7, 5}};
  const PlaneCut hexagon = cut(cube, {1, 1, 1}, 90 / std::sqrt(3.0));
  CHECK(hexagon.length_mm() == doctest::Approx(6 * 60 / std::sqrt(2.0)));
  CHECK(hexagon.area_mm2() == doctest::Approx(1.5 * std::sqrt(3.0) * 1800));
}

TEST_CASE("The cut's own axes: y towards the climber's up, or off the wall") {
  const TriangleMesh mesh = meshSdf(translate(box({10, 20, 30}), {0, 0, 30}), around(70), 1);
  const auto size = [](const PlaneCut& c) {
    Eigen::AlignedBox2d box;
    for (const Point2& p : c.lines(0).points_mm()) box.extend(Eigen::Vector2d(p.x(), p.y()));
    return box;
  };
  const auto level = size(cut(mesh, {0, 0, 1}, 20));  // x to the right, y up.
  CHECK(level.sizes().x() == doctest::Approx(20).epsilon(1e-3));
  CHECK(level.sizes().y() == doctest::Approx(40).epsilon(1e-3));
  const auto upright = size(cut(mesh, {1, 0, 0}, 0));  // y off the wall.
  CHECK(upright.sizes().x() == doctest::Approx(40).epsilon(1e-3));
  CHECK(upright.max().y() == doctest::Approx(60).epsilon(1e-3));
}

TEST_CASE("A plane that misses, has no normal or no place is refused") {
  const TriangleMesh mesh = meshSdf(sphere(10), around(11), 1);
  CHECK_THROWS_AS(cut(mesh, {0, 0, 1}, 12), BadInput);
  CHECK_THROWS_AS(cut(mesh, {0, 0, 0}, 1), BadInput);
  CHECK_THROWS_AS(cut(mesh, {0, NAN, 0}, 1), BadInput);
  CHECK_THROWS_AS(cut(mesh, {0, 0, 1}, NAN), BadInput);
}
