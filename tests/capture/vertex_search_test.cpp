// SPDX-License-Identifier: Apache-2.0
#include "capture/vertex_search.h"

#include <doctest/doctest.h>

#include <cmath>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "tests/photobooth/camera_rig.h"

using namespace holdshelf;

namespace {

using Eigen::Vector3d;

/// Waves of 2 to 4 mm on the plane z = 0.
double texture(double x, double y) {
  return 120 + 30 * std::sin(2.1 * x + 0.9 * y) + 30 * std::sin(-0.8 * x + 1.9 * y + 1) +
         20 * std::sin(1.5 * x - 1.7 * y + 2);
}

/// The plane seen from 40 degrees off its normal, 0.1 mm a pixel.
View viewFrom(double azimuth_rad) {
  View view;
  CameraModel& m = view.camera.model;
  m.width_px = m.height_px = 240;
  m.fx_px = m.fy_px = 3000;
  m.cx_px = m.cy_px = 119.5;
  const double tilt = 40 * M_PI / 180;
  const Vector3d away(std::sin(tilt) * std::cos(azimuth_rad),
                      std::sin(tilt) * std::sin(azimuth_rad), std::cos(tilt));
  view.camera.T_camera_hold = lookAt(300 * away, {0, 0, 0}, 0);
  const Eigen::Matrix3d R = view.camera.T_camera_hold.linear();
  view.bgr = cv::Mat(240, 240, CV_8UC3);
  for (int v = 0; v < 240; ++v)
    for (int u = 0; u < 240; ++u) {
      const Vector3d ray = R.transpose() * m.ray(Eigen::Vector2d(u, v)), eye = 300 * away;
      const Vector3d p = eye - ray * (eye.z() / ray.z());
      view.bgr.at<cv::Vec3b>(v, u) =
          cv::Vec3b::all(cv::saturate_cast<std::uint8_t>(texture(p.x(), p.y())));
    }
  return view;
}

/// Three triangles round a vertex at the origin, `height_mm` over the plane.
TriangleMesh tent(double height_mm) {
  TriangleMesh mesh;
  mesh.vertices_mm = {
      {0, 0, height_mm}, {1, 0, height_mm}, {-0.5, 0.9, height_mm}, {-0.5, -0.9, height_mm}};
  mesh.triangles = {{0, 1, 2}, {0, 2, 3}, {0, 3, 1}};
  mesh.normals.assign(4, Vector3d::UnitZ());
  return mesh;
}

}  // namespace

TEST_CASE(
    "VertexSearch: a vertex over a textured plane finds its way down, within what it states") {
  const std::vector<View> views = {viewFrom(0), viewFrom(2.1), viewFrom(4.2), viewFrom(5.5)};
  for (const double height : {0.15, -0.1}) {
    CAPTURE(height);
    const TriangleMesh mesh = tent(height);
    const auto rings = vertexRings(mesh);
    const VertexFinding found = VertexSearch(mesh, views, rings).find(0, {0, 1, 2, 3}, 4, false);
    CHECK(found.seen);
    CHECK(found.sigma_mm > 0);
    CHECK(found.sigma_mm < 0.05);
    CHECK(std::abs(found.offset_mm + height) < 0.02);
    CHECK(found.patch_mm2 > 0);
  }
}

TEST_CASE("VertexSearch: one view, one direction and no texture say nothing") {
  std::vector<View> views = {viewFrom(0), viewFrom(0), viewFrom(2)};
  const TriangleMesh mesh = tent(0.1);
  const auto rings = vertexRings(mesh);
  const VertexSearch search(mesh, views, rings);
  CHECK_FALSE(search.find(0, {0}, 4, false).seen);
  CHECK_FALSE(search.find(0, {0, 1}, 4, false).seen);
  for (View& view : views) view.bgr = cv::Scalar::all(90);
  const VertexFinding blank = VertexSearch(mesh, views, rings).find(0, {0, 2}, 4, false);
  CHECK_FALSE(blank.seen);
  CHECK(blank.sigma_mm == 0);
}

// Of each photo only the part around the mesh is kept, wherever in the photo that is.
TEST_CASE(
    "VertexSearch: what a vertex finds does not depend on where in larger photos it is seen") {
  const TriangleMesh mesh = tent(0.1);
  const auto rings = vertexRings(mesh);
  std::vector<View> small = {viewFrom(0), viewFrom(2.1), viewFrom(4.2)}, large = small;
  for (View& view : large) {
    CameraModel& model = view.camera.model;
    cv::copyMakeBorder(view.bgr, view.bgr, 700, 60, 1000, 40, cv::BORDER_CONSTANT);
    model.width_px = view.bgr.cols, model.height_px = view.bgr.rows;
    model.cx_px += 1000, model.cy_px += 700;
  }
  const VertexFinding a = VertexSearch(mesh, small, rings).find(0, {0, 1, 2}, 4, false);
  const VertexFinding b = VertexSearch(mesh, large, rings).find(0, {0, 1, 2}, 4, false);
  REQUIRE(a.seen);
  CHECK(b.seen);
  CHECK(b.offset_mm == doctest::Approx(a.offset_mm).epsilon(1e-3));
  CHECK(b.sigma_mm == doctest::Approx(a.sigma_mm).epsilon(1e-2));
}

TEST_CASE("VertexSearch: a view that does not show the mesh says nothing") {
  const TriangleMesh mesh = tent(0.1);
  const auto rings = vertexRings(mesh);
  std::vector<View> views = {viewFrom(0), viewFrom(2.1)};
  views[1].camera.model.cx_px += 5000;
  CHECK_FALSE(VertexSearch(mesh, views, rings).find(0, {0, 1}, 4, false).seen);
  views[1].camera.model.cx_px -= 5000;
  CHECK(VertexSearch(mesh, views, rings).find(0, {0, 1}, 4, false).seen);
}
