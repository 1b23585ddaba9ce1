// SPDX-License-Identifier: Apache-2.0
#include "mesh/deviation.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>
#include <random>

#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using Eigen::Vector3d;

namespace {

TriangleMesh domeMesh() {
  const ExactHold hold = domeHold(45, 35);
  return meshSdf(hold.solid, hold.box_mm, 1);
}

TriangleMesh noisy(TriangleMesh mesh, double noise_mm, unsigned seed) {
  std::mt19937 random(seed);
  std::normal_distribution<double> noise(0, noise_mm);
  for (Vector3d& v : mesh.vertices_mm) v += Vector3d(noise(random), noise(random), noise(random));
  return mesh;
}

/// The mesh with everything cut off above a plane through `at` with normal `n`.
TriangleMesh cutOff(TriangleMesh mesh, const Vector3d& at, const Vector3d& n) {
  for (Vector3d& v : mesh.vertices_mm) {
    const double over = (v - at).dot(n);
    if (over > 0) v -= over * n;
  }
  return mesh;
}

}  // namespace

TEST_CASE("deviationOf: a cap cut off a sphere is lost with its exact volume") {
  const TriangleMesh fresh = domeMesh();
  // Sphere of radius 45 about (0, 0, -10). A cap of height h has volume pi h^2 (3 r - h) / 3.
  const Vector3d n = Vector3d(0.6, 0, 0.8), centre(0, 0, -10);
  for (const double h : {0.6, 1.0, 2.0}) {
    CAPTURE(h);
    const double exact = std::numbers::pi * h * h * (3 * 45 - h) / 3;
    const RegistrationTarget a(fresh), b(cutOff(fresh, centre + (45 - h) * n, n));
    Registered in_place;
    const Deviation deviation = deviationOf(a, b, in_place);
    REQUIRE(deviation.pieces.size() == 1);
    CHECK(deviation.pieces[0].volume_mm3.value() == doctest::Approx(exact).epsilon(0.12));
    CHECK(deviation.pieces[0].deepest_mm <= h + 0.01);
    CHECK((deviation.pieces[0].centre_mm - (centre + 45 * n)).norm() < 2);
  }
}

TEST_CASE("deviationOf: noise alone is no wear, twenty times of twenty") {
  const TriangleMesh fresh = domeMesh();
  const RegistrationTarget a(noisy(fresh, 0.12, 99));
  for (unsigned seed = 0; seed < 20; ++seed) {
    CAPTURE(seed);
    const Deviation deviation = deviationOf(a, RegistrationTarget(noisy(fresh, 0.12, seed)), {});
    CHECK(deviation.pieces.empty());
    CHECK(deviation.lost_mm3.value() == 0);
  }
}

TEST_CASE("deviationOf: a chip is found under noise, and a coat of paint is no wear") {
  const TriangleMesh fresh = domeMesh();
  const Vector3d n = Vector3d(0, 0.8, 0.6), centre(0, 0, -10);
  const double h = 0.55;  // 42 mm^3.
  const RegistrationTarget a(noisy(fresh, 0.1, 1));
  const RegistrationTarget b(noisy(cutOff(fresh, centre + (45 - h) * n, n), 0.1, 2));
  const Deviation chipped = deviationOf(a, b, {});
  REQUIRE(chipped.pieces.size() == 1);
  CHECK((chipped.pieces[0].centre_mm - (centre + 45 * n)).norm() < 3);
  CHECK(chipped.pieces[0].volume_mm3.value() > 3 * chipped.pieces[0].volume_mm3.sigma());

  TriangleMesh coated = fresh;
  const auto normals = vertexNormals(coated);
  for (std::size_t i = 0; i < normals.size(); ++i) coated.vertices_mm[i] += 0.2 * normals[i];
  const Deviation paint = deviationOf(RegistrationTarget(fresh), RegistrationTarget(coated), {});
  CHECK(paint.pieces.empty());
  CHECK(paint.offset_mm == doctest::Approx(0.2).epsilon(0.1));
}

TEST_CASE("deviationOf: what differs down a bolt hole is neither lost nor gained") {
  // A hole of 18 mm through a dome: its walls, where photos see little, differ by a millimetre.
  const ExactHold hold = domeHold(45, 35);
  const Sdf drill([](const Vector3d& p) { return p.head<2>().norm() - 9; });
  const Sdf wider([](const Vector3d& p) { return p.head<2>().norm() - (p.z() < 22 ? 10 : 9); });
  const TriangleMesh fresh = meshSdf(subtract(hold.solid, drill), hold.box_mm, 1);
  TriangleMesh later = meshSdf(subtract(hold.solid, wider), hold.box_mm, 1);
  const RegistrationTarget a(fresh);
  CHECK(deviationOf(a, RegistrationTarget(later), {}).pieces.empty());
  CHECK(deviationOf(RegistrationTarget(later), a, {}).gained.empty());
  // A chip of the same depth on the dome's flank is still found beside it.
  const Vector3d n(0.8, 0, 0.6), centre(0, 0, -10);
  later = cutOff(later, centre + (45 - 1) * n, n);
  const Deviation chipped = deviationOf(a, RegistrationTarget(later), {});
  REQUIRE(chipped.pieces.size() == 1);
  CHECK((chipped.pieces[0].centre_mm - (centre + 45 * n)).norm() < 3);
}
