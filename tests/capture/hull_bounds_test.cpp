// SPDX-License-Identifier: Apache-2.0
#include "capture/hull_bounds.h"

#include <doctest/doctest.h>

#include "mesh/bad_input.h"
#include "tests/capture/sphere_views.h"

using namespace holdshelf;

namespace {

using Eigen::Vector3d;

}  // namespace

TEST_CASE("commonGaze: the point that all cameras look at, and how far their masks reach") {
  const Vector3d centre(12, -7, 31);
  const Gaze gaze = commonGaze(test::ring(12, centre, 30));
  CHECK((gaze.centre - centre).norm() < 1);
  // The masks' boxes reach to their corners, sqrt 2 times the outline's 30.1 mm, and 15 % more.
  CHECK(gaze.radius_mm > 1.41 * 30);
  CHECK(gaze.radius_mm < 1.2 * 1.5 * 30);
  std::vector<View> away = test::ring(3, centre, 30);
  for (View& view : away)  // Turned round, they have that point behind them.
    view.camera.T_camera_hold =
        Eigen::AngleAxisd(M_PI, Vector3d::UnitY()) * view.camera.T_camera_hold;
  CHECK_THROWS_AS(commonGaze(away), BadInput);
}

TEST_CASE("shrunkToHull: a large box comes down to the sphere, and holds all of it") {
  const Vector3d centre(12, -7, 31);
  const auto fields = outlineFields(test::ring(16, centre, 30));
  const Carver carver(fields, 0, 0.3);
  const Eigen::AlignedBox3d found =
      shrunkToHull({centre - Vector3d::Constant(150), centre + Vector3d::Constant(150)}, carver);
  const Eigen::AlignedBox3d sphere(centre - Vector3d::Constant(30),
                                   centre + Vector3d::Constant(30));
  CHECK(found.contains(sphere));
  CHECK(found.sizes().maxCoeff() < 80);  // The hull's tips above and below reach past the sphere.
  const Vector3d far = centre + Vector3d(0, 0, 300);
  CHECK(shrunkToHull({far, far + Vector3d::Constant(50)}, carver).isEmpty());
}

TEST_CASE("aboveFloor: a box is cut at the floor, one above it is not") {
  const Eigen::AlignedBox3d box(Vector3d(0, 0, -10), Vector3d(5, 5, 5));
  CHECK(aboveFloor(box, 0).min() == Vector3d(0, 0, 0));
  CHECK(aboveFloor(box, -20).min() == Vector3d(0, 0, -10));
}
