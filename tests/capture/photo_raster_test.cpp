// SPDX-License-Identifier: Apache-2.0
// Closed form: a square of side a at depth d covers f a / d pixels.
#include "capture/photo_raster.h"

#include <doctest/doctest.h>

#include <opencv2/imgproc.hpp>

using namespace holdshelf;

namespace {

/// 40 mm square, 400 mm before a camera of f = 500 px: 50 px, from 75.5 to 125.5 and 50.5 to 100.5.
TriangleMesh square() {
  TriangleMesh mesh;
  mesh.vertices_mm = {{-20, -20, 400}, {20, -20, 400}, {20, 20, 400}, {-20, 20, 400}};
  mesh.triangles = {{0, 1, 2}, {0, 2, 3}};
  return mesh;
}

PosedCamera camera() {
  PosedCamera camera;
  camera.model.width_px = 200;
  camera.model.height_px = 150;
  camera.model.fx_px = camera.model.fy_px = 500;
  camera.model.cx_px = 100.5;
  camera.model.cy_px = 75.5;
  return camera;
}

}  // namespace

TEST_CASE("photo raster: a square covers its pixels") {
  const cv::Mat mask = drawnMask(rasterise(square(), rasterCamera(camera())));
  CHECK(mask.size() == cv::Size(200, 150));
  CHECK(cv::boundingRect(mask) == cv::Rect(76, 51, 50, 50));
  CHECK(cv::countNonZero(mask) == 2500);
}

TEST_CASE("photo raster: a part at another scale shows the same") {
  const cv::Rect2d part(60, 40, 80, 70);
  const cv::Mat mask = drawnMask(rasterise(square(), rasterCamera(camera(), part, 2, {160, 140})));
  CHECK(cv::boundingRect(mask) == cv::Rect(32, 22, 100, 100));
  CHECK(cv::countNonZero(mask) == 10000);
}
