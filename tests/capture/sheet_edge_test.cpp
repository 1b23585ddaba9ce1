// SPDX-License-Identifier: Apache-2.0
#include "capture/sheet_edge.h"

#include <doctest/doctest.h>

#include <cmath>
#include <opencv2/imgproc.hpp>

#include "capture/edge_line.h"
#include "tests/capture/mat_scene.h"

using namespace holdshelf;

namespace {

using Eigen::Vector2d;
using Eigen::Vector3d;

std::vector<Vector3d> cornersOf(const Mat& mat, double tilt = 0) {
  std::vector<Vector3d> points;
  for (const auto& marker : mat.markers())
    for (const auto& c : marker.corners()) points.emplace_back(c.x(), c.y(), tilt * c.x());
  return points;
}

Eigen::AlignedBox2d boxOf(const std::vector<Vector3d>& points) {
  Eigen::AlignedBox2d box;
  for (const Vector3d& p : points) box.extend(Vector2d(p.head<2>()));
  return box;
}

}  // namespace

TEST_CASE("sideOf: the four sides of the layout, with the paper's height along them") {
  const auto points = cornersOf(scene::borderMat(), 0.01);  // 150 x 190 mm, rising with x.
  const SheetSide right = sideOf(boxOf(points), 0, points), top = sideOf(boxOf(points), 1, points);
  CHECK(right.origin == Vector2d(75, 0));
  CHECK(right.length == doctest::Approx(190));
  CHECK(right.height == doctest::Approx(0.75));
  CHECK(right.tilt == doctest::Approx(0));
  CHECK(top.point(0, 0).y() == doctest::Approx(95));
  CHECK(std::abs(top.tilt) == doctest::Approx(0.01));
  // Along the top the height follows x, whichever way the side runs.
  CHECK(top.point(20, 5).z() == doctest::Approx(0.01 * top.point(20, 5).x()));
}

TEST_CASE("edgeInView: the sheet's edge beyond the markers, to a tenth of a millimetre") {
  const Mat mat = scene::borderMat();
  scene::Sheet sheet;
  CameraModel camera = scene::phone(800, 600);
  camera.k1 = camera.k2 = camera.p1 = camera.p2 = 0;
  const Eigen::Isometry3d pose = scene::lookAt(40, 60, 450, 3, {0, 0, 0});
  const cv::Mat linear =
      linearLight(scene::photograph(mat, sheet, pose, scene::rayGrid(camera), 0.7, 5));
  const auto points = cornersOf(mat);
  const double beyond[] = {sheet.width_mm / 2 - 75, sheet.height_mm / 2 - 95};
  for (int which = 0; which < 4; ++which) {
    CAPTURE(which);
    const auto edge = edgeInView(linear, {camera, pose}, sideOf(boxOf(points), which, points));
    REQUIRE(edge);
    CHECK(std::abs(edge->offset - beyond[which % 2]) < 0.1);
    CHECK(std::abs(edge->slope) < 0.001);
  }
  const cv::Mat even(linear.size(), CV_32F, cv::Scalar(0.5));
  CHECK_FALSE(edgeInView(even, {camera, pose}, sideOf(boxOf(points), 0, points)));
}

TEST_CASE("commonEdge: the median of three views at least, a shadow in one outvoted") {
  using Seen = std::vector<std::optional<SheetEdge>>;
  const auto edge = commonEdge(Seen{SheetEdge{10, 0.001}, std::nullopt, SheetEdge{10.2, 0},
                                    SheetEdge{10.1, 0.002}, SheetEdge{25, 0.01}});
  REQUIRE(edge);
  CHECK(edge->offset == doctest::Approx(10.15).epsilon(0.01));
  CHECK_FALSE(commonEdge(Seen{SheetEdge{10, 0}, SheetEdge{10, 0}}));
  CHECK_FALSE(commonEdge(Seen{SheetEdge{10, 0}, SheetEdge{14, 0}, SheetEdge{18, 0}}));
}
