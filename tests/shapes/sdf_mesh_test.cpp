// SPDX-License-Identifier: Apache-2.0
#include "tests/shapes/sdf_mesh.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>
#include <stdexcept>
#include <string>

#include "tests/shapes/profile.h"

using namespace holdshelf;
using Eigen::AlignedBox3d;
using Eigen::Vector3d;

namespace {

double volume(const TriangleMesh& mesh) {
  double v = 0;
  for (const auto& t : mesh.triangles)
    v += mesh.vertices_mm[t[0]].dot(mesh.vertices_mm[t[1]].cross(mesh.vertices_mm[t[2]])) / 6;
  return v;
}

double area(const TriangleMesh& mesh) {
  double a = 0;
  for (const auto& t : mesh.triangles)
    a += (mesh.vertices_mm[t[1]] - mesh.vertices_mm[t[0]])
             .cross(mesh.vertices_mm[t[2]] - mesh.vertices_mm[t[0]])
             .norm() /
         2;
  return a;
}

AlignedBox3d cube(double half) { return {Vector3d::Constant(-half), Vector3d::Constant(half)}; }

void checkOnSurface(const Sdf& solid, const TriangleMesh& mesh) {
  double worst = 0;
  for (const Vector3d& p : mesh.vertices_mm) worst = std::max(worst, std::abs(solid(p)));
  CHECK(worst < 1e-7);
}

}  // namespace

// Closed forms of the sphere, the torus (V = 2 pi^2 R r^2, A = 4 pi^2 R r), the spherical cap
// (V = pi h^2 (3 R - h) / 3) and the box.
TEST_CASE("meshSdf: volume and area tend to the closed forms with the square of the cell") {
  const double pi = std::numbers::pi;
  struct {
    std::string name;
    Sdf solid;
    double half, volume, area, cell;
  } cases[] = {{"sphere", sphere(25), 25, 4.0 / 3 * pi * 25 * 25 * 25, 4 * pi * 25 * 25, 2},
               {"torus", torus(50, 15), 65, 222066.0990, 29608.8132, 2},
               {"rounded box", roundedBox({20, 15, 10}, 5), 20,
                30 * 20 * 10 + 2 * 5 * (30 * 20 + 20 * 10 + 10 * 30) + pi * 25 * (30 + 20 + 10) +
                    4.0 / 3 * pi * 125,
                2 * (30 * 20 + 20 * 10 + 10 * 30) + 2 * pi * 5 * (30 + 20 + 10) + 4 * pi * 25, 1}};
  for (const auto& c : cases) {
    CAPTURE(c.name);
    double last = 0;
    for (double cell : {c.cell, c.cell / 2}) {
      CAPTURE(cell);
      const TriangleMesh mesh = meshSdf(c.solid, cube(c.half), cell);
      checkOnSurface(c.solid, mesh);
      const double error = std::abs(volume(mesh) / c.volume - 1);
      CHECK(error < 0.01);
      CHECK(area(mesh) == doctest::Approx(c.area).epsilon(0.01));
      if (last > 0) CHECK(error == doctest::Approx(last / 4).epsilon(0.2));
      last = error;
    }
  }
}

TEST_CASE("meshSdf: a sharp edge is cut by less than a cell") {
  const Sdf cap = intersect(translate(sphere(50), {0, 0, -30}), halfSpace({0, 0, -1}, 0));
  const TriangleMesh mesh = meshSdf(cap, {Vector3d(-40, -40, 0), Vector3d(40, 40, 20)}, 0.5);
  checkOnSurface(cap, mesh);
  CHECK(volume(mesh) == doctest::Approx(54454.2727).epsilon(5e-4));  // R 50, h 20.
  CHECK(area(mesh) == doctest::Approx(6283.1853 + std::numbers::pi * 40 * 40).epsilon(0.01));
}

TEST_CASE("meshSdf: watertight where cells are ambiguous") {
  // Thin crossing sheets and near-touching balls, at cells coarser than the gaps.
  Sdf nasty = unite(box({20, 0.9, 20}), box({0.9, 20, 20}));
  for (int i = 0; i < 12; ++i)
    nasty =
        unite(nasty, translate(sphere(2.2), Vector3d(3.1 * i - 17, 2.3 * i - 13, 15 - 2.7 * i)));
  for (double cell : {0.7, 1.1, 1.7, 2.3}) {
    CAPTURE(cell);
    const TriangleMesh mesh = meshSdf(nasty, cube(21), cell);  // Throws when not watertight.
    CHECK(isWatertight(mesh));
    checkOnSurface(nasty, mesh);
  }
}

TEST_CASE("meshSdf: what cannot be meshed") {
  CHECK_THROWS_AS(meshSdf(sphere(10), cube(10), 0), std::invalid_argument);
  CHECK_THROWS_AS(meshSdf(sphere(10), AlignedBox3d(), 1), std::invalid_argument);
  CHECK_THROWS_AS(meshSdf(sphere(10), cube(2), 1), std::invalid_argument);  // Nothing to see.
  CHECK_THROWS_AS(meshSdf(halfSpace({0, 0, 1}, 0), cube(10), 1), std::invalid_argument);
}
