// SPDX-License-Identifier: Apache-2.0
#include "mesh/raster_camera.h"

#include <doctest/doctest.h>

#include <algorithm>

#include "mesh/raster.h"
#include "tests/shapes/plain_meshes.h"

using namespace holdshelf;

TEST_CASE("fitOrthographic: the box fills the picture and up is up") {
  const TriangleMesh mesh = parallelogram({10, 20, 0}, {60, 0, 0}, {0, 30, 0});
  const RasterCamera camera = fitOrthographic(mesh, {0, 0, 1}, {0, 1, 0}, 640, 640, 0.05);
  // From the climber's side x runs right and y up, in pixels of 0.9 * 640 / 60 a millimetre.
  const Eigen::Vector3d low = camera.project({10, 20, 0}), high = camera.project({70, 50, 0});
  CHECK(low.x() == doctest::Approx(0.05 * 640 - 0.5));
  CHECK(high.x() - low.x() == doctest::Approx(0.9 * 640));
  CHECK(low.y() - high.y() == doctest::Approx(0.45 * 640));
  const Raster raster = rasterise(mesh, camera);
  const auto seen =
      std::count_if(raster.triangle.begin(), raster.triangle.end(), [](int t) { return t >= 0; });
  CHECK(double(seen) == doctest::Approx(0.9 * 640 * 0.45 * 640).epsilon(0.01));
}

TEST_CASE(
    "RasterCamera: a point on the axis lies at the principal point, others by similar triangles") {
  RasterCamera camera;
  camera.fx = 500, camera.fy = 400, camera.cx = 320, camera.cy = 240;
  CHECK((camera.project({0, 0, 100}) - Eigen::Vector3d(320, 240, 100)).norm() < 1e-12);
  CHECK((camera.project({10, -5, 100}) - Eigen::Vector3d(370, 220, 100)).norm() < 1e-12);
  camera.orthographic = true;  // Now focal lengths are pixels a millimetre, whatever the depth.
  CHECK((camera.project({0.1, -0.2, 100}) - Eigen::Vector3d(370, 160, 100)).norm() < 1e-12);
}

TEST_CASE(
    "fitOrthographic: up along the line of sight, and a mesh without vertices, still give a "
    "camera") {
  const TriangleMesh mesh = parallelogram({0, 0, 0}, {30, 0, 0}, {0, 30, 0});
  const RasterCamera above = fitOrthographic(mesh, {0, 0, 1}, {0, 0, 1}, 100, 100);
  const Eigen::Matrix3d R = above.T_camera_mesh.linear();
  CHECK((R * R.transpose() - Eigen::Matrix3d::Identity()).norm() < 1e-12);
  CHECK(R.determinant() == doctest::Approx(1));
  const RasterCamera nothing = fitOrthographic({}, {0, 0, 1}, {0, 1, 0}, 100, 80);
  CHECK(nothing.project({0, 0, 0}).head<2>() == Eigen::Vector2d(49.5, 39.5));
}
