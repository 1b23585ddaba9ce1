// SPDX-License-Identifier: Apache-2.0
#include "mesh/registration.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>
#include <random>

#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using Eigen::Vector3d;

namespace {

TriangleMesh meshOf(const std::string& name, double cell_mm = 2) {
  const ExactHold hold = holdNamed(name);
  return meshSdf(hold.solid, hold.box_mm, cell_mm);
}

/// The mesh mirrored in x, scaled, turned about z and shifted on the wall, with noise.
TriangleMesh moved(TriangleMesh mesh, double turn_deg, bool mirrored, double scale, double noise_mm,
                   unsigned seed) {
  std::mt19937 random(seed);
  std::normal_distribution<double> noise(0, noise_mm > 0 ? noise_mm : 1);
  const double t = turn_deg * std::numbers::pi / 180;
  const Eigen::Matrix3d R = Eigen::AngleAxisd(t, Vector3d::UnitZ()).toRotationMatrix();
  for (Vector3d& v : mesh.vertices_mm) {
    if (mirrored) v.x() = -v.x();
    v = R * (scale * v) + Vector3d(7, -4, 0);
    if (noise_mm > 0) v += Vector3d(noise(random), noise(random), noise(random));
  }
  if (mirrored)
    for (auto& triangle : mesh.triangles) std::swap(triangle[1], triangle[2]);
  return mesh;
}

}  // namespace

TEST_CASE("signature: does not change with rotation, place, hand or size") {
  const TriangleMesh mesh = meshOf("ledge");
  const PackedSignature reference = packSignature(signatureOf(mesh));
  const std::uint32_t other =
      signatureDistance2(reference, packSignature(signatureOf(meshOf("bowl"))));
  for (const double turn : {13.0, 90.0, 211.0})
    for (const bool mirrored : {false, true})
      for (const double scale : {1.0, 1.4}) {
        CAPTURE(turn);
        CAPTURE(mirrored);
        CAPTURE(scale);
        const auto same = signatureDistance2(
            reference, packSignature(signatureOf(moved(mesh, turn, mirrored, scale, 0, 1))));
        CHECK(same * 20 < other);
      }
}

TEST_CASE("registerMeshes: finds the turn, the hand and the size, and leaves no deviation") {
  const RegistrationTarget a(meshOf("ledge"));
  for (const double turn : {0.0, 47.0, 165.0, 290.0})
    for (const bool mirrored : {false, true})
      for (const double scale : {1.0, 0.7}) {
        CAPTURE(turn);
        CAPTURE(mirrored);
        CAPTURE(scale);
        const RegistrationTarget b(moved(a.mesh, turn, mirrored, scale, 0, 1));
        const Registered found = registerMeshes(a, b);
        CHECK(found.mirrored == mirrored);
        CHECK(found.scale == doctest::Approx(1 / scale).epsilon(1e-3));
        CHECK(found.median_mm < 0.02);
        CHECK(found.p95_mm < 0.1);
        // b was turned by `turn` after mirroring, so going back turns by -turn; a mirror image
        // turns the other way round.
        const double back = mirrored ? turn : -turn;
        CHECK(std::abs(std::remainder(found.rotation_deg - back, 360.0)) < 0.5);
      }
}

TEST_CASE("registerMeshes: scan noise shows as deviation, not as displacement") {
  const RegistrationTarget a(meshOf("ledge"));
  const RegistrationTarget b(moved(a.mesh, 120, false, 1, 0.15, 3));
  const Registered found = registerMeshes(a, b);
  CHECK_FALSE(found.mirrored);
  CHECK(found.median_mm < 0.15);
  const Vector3d back = found.transform() * moved(a.mesh, 120, false, 1, 0, 1).vertices_mm[100];
  CHECK((back - a.mesh.vertices_mm[100]).norm() < 0.1);
}

TEST_CASE("registerMeshes: different holds stay apart") {
  const RegistrationTarget ledge(meshOf("ledge"));
  for (const char* name : {"bowl", "edge", "pinch", "jug", "pocket"}) {
    CAPTURE(name);
    CHECK(registerMeshes(ledge, RegistrationTarget(meshOf(name))).median_mm > 1);
  }
}

TEST_CASE("registerMeshes: nothing to register gives no match, not a crash") {
  const RegistrationTarget ledge(meshOf("ledge")), empty{TriangleMesh{}};
  CHECK(std::isinf(registerMeshes(ledge, empty).median_mm));
  CHECK(std::isinf(registerMeshes(empty, ledge).median_mm));
}
