// SPDX-License-Identifier: Apache-2.0
// The sphere fit and the sphere spacing on points whose answers are known in closed form. Terms
// after VDI/VDE 2634 part 2 (from memory, not from the text); numbers computed from the stated
// points.
#include <doctest/doctest.h>

#include <cmath>

#include "tests/photobooth/acceptance.h"

using namespace holdshelf;
using Eigen::Vector3d;

namespace {

/// The 26 directions of {-1, 0, 1}^3 about (10, -20, 300), at 25 mm plus 0.03 on the 6 axes, less
/// 0.02 on the 12 edges, plus 0.01 on the 8 corners.
std::vector<Vector3d> probed(bool lower_half_only) {
  std::vector<Vector3d> points;
  for (int x = -1; x <= 1; ++x)
    for (int y = -1; y <= 1; ++y)
      for (int z = -1; z <= 1; ++z) {
        const int parts = std::abs(x) + std::abs(y) + std::abs(z);
        if (parts == 0 || (lower_half_only && z > 0)) continue;
        const double radius = 25 + (parts == 1 ? 0.03 : parts == 2 ? -0.02 : 0.01);
        points.push_back(Vector3d(10, -20, 300) + radius * Vector3d(x, y, z).normalized());
      }
  return points;
}

}  // namespace

TEST_CASE("fitBall: probing error form 0.05 mm, probing error size +0.00154 mm") {
  const BallFit ball = fitBall(probed(false));
  CHECK(ball.points == 26);
  CHECK((ball.centre_mm - Vector3d(10, -20, 300)).norm() < 1e-9);  // By symmetry.
  CHECK(std::abs(ball.radius_mm - 25.0007692308) < 1e-9);          // 25 + (6 a + 12 b + 8 c) / 26.
  CHECK(std::abs(ball.form_mm - 0.05) < 1e-9);
  CHECK(std::abs(2 * ball.radius_mm - 50 - 0.0015384615) < 1e-9);
}

TEST_CASE("fitBall: the lower half alone gives another sphere, as it should") {
  const BallFit ball = fitBall(probed(true));
  CHECK(ball.points == 17);
  CHECK(std::abs(ball.centre_mm.z() - 300.0067583597) < 1e-7);
  CHECK(std::abs(ball.radius_mm - 25.0042054835) < 1e-7);
  CHECK(std::abs(ball.form_mm - 0.0567574455) < 1e-7);
}

TEST_CASE("Sphere spacing error: +0.0012 mm on 150 mm") {
  // Two spheres probed as above whose centres are (0, 0, 0) and (90, 120, 0.6).
  std::vector<Vector3d> first = probed(false), second = first;
  for (Vector3d& p : first) p -= Vector3d(10, -20, 300);
  for (Vector3d& p : second) p += Vector3d(90, 120, 0.6) - Vector3d(10, -20, 300);
  const double spacing = (fitBall(second).centre_mm - fitBall(first).centre_mm).norm();
  CHECK(std::abs(spacing - 150 - 0.0011999952) < 1e-8);  // sqrt(22500.36) - 150.
}
