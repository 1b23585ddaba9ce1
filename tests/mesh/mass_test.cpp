// SPDX-License-Identifier: Apache-2.0
#include "mesh/mass.h"

#include <doctest/doctest.h>

#include <Eigen/Eigenvalues>
#include <Eigen/Geometry>
#include <cmath>

#include "mesh/footprint.h"
#include "mesh/hold_frame.h"
#include "tests/shapes/sdf.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using Eigen::Vector3d;

namespace {

TriangleMesh boxMesh(const Vector3d& size) {
  TriangleMesh mesh;
  for (int k = 0; k < 8; ++k)
    mesh.vertices_mm.emplace_back((k & 1) * size.x(), (k >> 1 & 1) * size.y(),
                                  (k >> 2 & 1) * size.z());
  mesh.triangles = {{0, 2, 3}, {0, 3, 1}, {4, 5, 7}, {4, 7, 6}, {0, 1, 5}, {0, 5, 4},
                    {2, 6, 7}, {2, 7, 3}, {0, 4, 6}, {0, 6, 2}, {1, 3, 7}, {1, 7, 5}};
  return mesh;
}

Eigen::AlignedBox3d around(double r) { return {Vector3d(-r, -r, -r), Vector3d(r, r, r)}; }

}  // namespace

TEST_CASE("Mass properties of a tetrahedron") {
  // Method of Mirtich, J. Graphics Tools 1(2), 1996; numbers computed by hand.
  TriangleMesh mesh;
  mesh.vertices_mm = {{0, 0, 0}, {5, 0, 0}, {0, 4, 0}, {0, 0, 3}};
  mesh.triangles = {{0, 2, 1}, {0, 1, 3}, {0, 3, 2}, {1, 2, 3}};
  const MassProperties m = massProperties(mesh);
  CHECK(m.volume_mm3 == doctest::Approx(10).epsilon(1e-12));
  CHECK(m.area_mm2 == doctest::Approx(37.3654246239).epsilon(1e-11));
  CHECK((m.centroid_mm - Vector3d(1.25, 1, 0.75)).norm() < 1e-12);
  Eigen::Matrix3d s, i;
  s << 25, 10, 7.5, 10, 16, 6, 7.5, 6, 9;
  CHECK((m.second_moment_mm5 - s).norm() < 1e-10);
  CHECK((m.inertia().diagonal() - Vector3d(9.375, 12.75, 15.375)).norm() < 1e-10);
  CHECK(m.inertia()(0, 1) == doctest::Approx(2.5));
  CHECK(m.inertia()(0, 2) == doctest::Approx(1.875));
  CHECK(m.inertia()(1, 2) == doctest::Approx(1.5));
}

TEST_CASE("Mass properties of a box do not change when it is moved") {
  const TriangleMesh at_rest = boxMesh({100, 60, 40});
  Eigen::Isometry3d T = Eigen::Isometry3d::Identity();
  T.translate(Vector3d(123, -45, 67));
  T.rotate(Eigen::AngleAxisd(1.1, Vector3d(1, 2, 3).normalized()));
  for (const TriangleMesh& mesh : {at_rest, moved(at_rest, T)}) {
    const MassProperties m = massProperties(mesh);
    CHECK(m.volume_mm3 == doctest::Approx(240000).epsilon(1e-12));
    CHECK(m.area_mm2 == doctest::Approx(24800).epsilon(1e-12));
    const Vector3d principal =
        Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d>(m.inertia()).eigenvalues();
    CHECK((principal - Vector3d(104e6, 232e6, 272e6)).norm() < 1);
  }
}

TEST_CASE("Curved solids: torus, half sphere, spherical cap by their closed forms") {
  // Inscribed triangles of size h lose h^2 / 8r of thickness at most: 0.06 % for these.
  const MassProperties ring = massProperties(meshSdf(torus(50, 15), around(66), 1));
  CHECK(ring.volume_mm3 == doctest::Approx(222066.0990).epsilon(2e-3));
  CHECK(ring.area_mm2 == doctest::Approx(29608.8132).epsilon(2e-3));
  const Sdf above = halfSpace({0, 0, -1}, 0);
  const TriangleMesh half = meshSdf(intersect(sphere(40), above), around(41), 0.8);
  const HoldBody half_body = measureBody(half, 0.9);
  CHECK(half_body.volume_mm3 == doctest::Approx(134041.2866).epsilon(1e-3));
  CHECK(half_body.area_mm2 == doctest::Approx(10053.0965).epsilon(1e-3));
  CHECK(massProperties(half).centroid_mm.z() == doctest::Approx(15).epsilon(1e-3));
  const HoldBody cap = measureBody(
      meshSdf(intersect(translate(sphere(50), {0, 0, -30}), above), around(60), 0.8), 0.9);
  CHECK(cap.volume_mm3 == doctest::Approx(54454.2727).epsilon(2e-3));
  CHECK(cap.protrusion_mm == doctest::Approx(20).epsilon(1e-3));
}

TEST_CASE("An open back counts as closed at the wall, and what is behind the wall does not count") {
  TriangleMesh open = boxMesh({100, 60, 40});
  open.triangles.erase(open.triangles.begin(), open.triangles.begin() + 2);
  CHECK(measureBody(open, 0.5).volume_mm3 == doctest::Approx(240000));
  CHECK(measureBody(open, 0.5).area_mm2 == doctest::Approx(24800 - 6000));
  CHECK(measureBody(boxMesh({100, 60, 40}), 0.5).area_mm2 == doctest::Approx(24800 - 6000));
  TriangleMesh sunk = boxMesh({100, 60, 40});
  for (Vector3d& v : sunk.vertices_mm) v.z() -= 10;
  CHECK(measureBody(sunk, 0.5).volume_mm3 == doctest::Approx(180000));
}

TEST_CASE("Longest extent: the diagonal of a box, the diameter of a sphere") {
  CHECK(longestExtent(boxMesh({100, 60, 40})).length_mm ==
        doctest::Approx(std::sqrt(10000.0 + 3600 + 1600)));
  CHECK(longestExtent(meshSdf(sphere(40), around(41), 2)).length_mm ==
        doctest::Approx(80).epsilon(1e-3));
}

TEST_CASE("Footprint: area, outline and centroid of a disc, a ring, an overhang") {
  const Footprint disc = measureFootprint(meshSdf(cylinder(30, 10), around(32), 0.7));
  CHECK(disc.area_mm2 == doctest::Approx(M_PI * 900).epsilon(2e-3));
  CHECK(disc.perimeter_mm == doctest::Approx(2 * M_PI * 30).epsilon(0.02));
  CHECK(disc.centroid_mm.norm() < 0.05);
  for (const Eigen::Vector2d& p : disc.outline_mm) CHECK(std::abs(p.norm() - 30) < 0.25);
  // A hole that goes right through is not covered; its outline is not the outer one.
  const Footprint ring = measureFootprint(meshSdf(torus(30, 8), around(40), 0.7));
  CHECK(ring.area_mm2 == doctest::Approx(M_PI * (38 * 38 - 22 * 22)).epsilon(3e-3));
  CHECK(std::abs(ring.outline_mm.front().norm() - 38) < 0.25);
  // A cap on a stem covers what is under it.
  const Footprint mushroom = measureFootprint(
      meshSdf(unite(cylinder(8, 20), translate(sphere(25), {0, 0, 20})), around(46), 1));
  CHECK(mushroom.area_mm2 == doctest::Approx(M_PI * 625).epsilon(3e-3));
}
