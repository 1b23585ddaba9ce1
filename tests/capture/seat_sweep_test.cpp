// SPDX-License-Identifier: Apache-2.0
// Closed forms: a round recess in a flat top is seen down to its floor, from very far at elevation
// e, in the lens that two circles of its radius share whose centres lie depth / tan(e) apart
// (circle-circle intersection: A = 2 R^2 acos(d / 2R) - (d / 2) sqrt(4 R^2 - d^2)). Photos of such
// a recess are drawn here by tracing each pixel's ray to top, wall and floor exactly.
#include "capture/seat_sweep.h"

#include <doctest/doctest.h>

#include <cmath>

#include "mesh/triangle_mesh.h"

using namespace holdshelf;
using Eigen::Vector3d;

namespace {

constexpr double kRadius_mm = 10, kTop_mm = 34;

/// Something that the rays never meet.
RayScene farAway() {
  TriangleMesh mesh;
  mesh.vertices_mm = {{1e5, 0, -1e5}, {1e5, 1, -1e5}, {1e5, 0, -1e5 + 1}};
  mesh.triangles = {{0, 1, 2}};
  return RayScene(mesh);
}

Recess recessIn(double top_mm) {
  Recess recess;
  recess.radius_mm = kRadius_mm;
  recess.rim_mm.assign(72, top_mm);
  return recess;
}

/// Solid texture: grey by place, features of 2 to 4 mm.
double textureAt(const Vector3d& p) {
  return std::sin(2.1 * p.x() + 0.7 * p.y() + 1.3 * p.z()) +
         std::sin(-1.1 * p.x() + 2.3 * p.y() - 0.8 * p.z() + 1) +
         std::sin(1.7 * p.x() + 1.6 * p.y() + 2.2 * p.z() + 2);
}

/// What a ray meets first: top, wall or floor of the recess.
double brightnessAlong(const Vector3d& eye, const Vector3d& d, double floor_mm) {
  const Vector3d top = eye + d * ((kTop_mm - eye.z()) / d.z());
  if (top.head<2>().norm() > kRadius_mm) return 150 + 20 * textureAt(top);
  const Vector3d floor = eye + d * ((floor_mm - eye.z()) / d.z());
  if (floor.head<2>().norm() < kRadius_mm) return 40 + 6 * textureAt(floor);
  const double a = d.head<2>().squaredNorm(), b = top.head<2>().dot(d.head<2>()),
               c = top.head<2>().squaredNorm() - kRadius_mm * kRadius_mm;
  const Vector3d wall = top + d * ((-b + std::sqrt(b * b - a * c)) / a);
  return 60 + 8 * textureAt(wall);
}

View photoFrom(double azimuth_deg, double elevation_deg, double floor_mm) {
  View view;
  CameraModel& m = view.camera.model;
  m.width_px = m.height_px = 220;
  m.fx_px = m.fy_px = 1300;
  m.cx_px = m.cy_px = 109.5;
  const double a = azimuth_deg * M_PI / 180, e = elevation_deg * M_PI / 180;
  const Vector3d away(std::cos(e) * std::cos(a), std::cos(e) * std::sin(a), std::sin(e)),
      eye = Vector3d(0, 0, 22) + 300 * away;
  const Vector3d z = -away, x = z.cross(Vector3d::UnitZ()).normalized(), y = z.cross(x);
  Eigen::Matrix3d R;
  R << x.transpose(), y.transpose(), z.transpose();
  view.camera.T_camera_hold.linear() = R;
  view.camera.T_camera_hold.translation() = -R * eye;
  view.bgr = cv::Mat(m.height_px, m.width_px, CV_8UC3);
  for (int v = 0; v < m.height_px; ++v)
    for (int u = 0; u < m.width_px; ++u) {
      double sum = 0;
      for (double dv : {-0.25, 0.25})
        for (double du : {-0.25, 0.25})
          sum += brightnessAlong(eye, R.transpose() * m.ray({u + du, v + dv}), floor_mm) / 4;
      const auto grey = cv::saturate_cast<std::uint8_t>(sum);
      view.bgr.at<cv::Vec3b>(v, u) = {grey, grey, grey};
    }
  return view;
}

std::vector<View> ring(int photos, double elevation_deg, double floor_mm) {
  std::vector<View> views;
  for (int i = 0; i < photos; ++i)
    views.push_back(photoFrom(i * 360.0 / photos + 7, elevation_deg, floor_mm));
  return views;
}

}  // namespace

TEST_CASE("seenInRecess: from afar the floor shows in the lens that rim and wall share") {
  const RayScene nothing = farAway();
  const Recess recess = recessIn(kTop_mm);
  for (double depth : {6.0, 14.0, 22.0}) {
    CAPTURE(depth);
    const double e = 62 * M_PI / 180;
    const Vector3d eye(1e5 * std::cos(e), 0, 1e5 * std::sin(e));
    int seen = 0;
    constexpr double kStep = 0.05;
    for (double x = -10; x < 10; x += kStep)
      for (double y = -10; y < 10; y += kStep)
        if (std::hypot(x, y) < kRadius_mm)
          seen += seenInRecess(recess, nothing, {x, y, kTop_mm - depth}, eye);
    // Rays keep 0.4 mm from the rim, sideways and above it.
    const double r = kRadius_mm - 0.4, d = (depth + 0.4) / std::tan(e);
    const double area = 2 * r * r * std::acos(d / (2 * r)) - d / 2 * std::sqrt(4 * r * r - d * d);
    CHECK(std::abs(seen * kStep * kStep - area) < 1);
  }
}

TEST_CASE("findSeatFloor: the height where twelve photos of a ring agree, within what is stated") {
  const RayScene nothing = farAway();
  for (double floor : {12.3, 18.0, 24.7}) {
    CAPTURE(floor);
    const auto found = findSeatFloor(recessIn(kTop_mm), ring(12, 62, floor), nothing);
    REQUIRE(found);
    CHECK(std::abs(found->height_mm - floor) < 0.15);
    CHECK(std::abs(found->height_mm - floor) < 3 * found->sigma_mm);
    CHECK(found->sigma_mm < 0.2);
    CHECK(found->agreement > 0.7);
    CHECK(found->seen_share > 0.3);
  }
}

TEST_CASE("findSeatFloor: three photos from straight above see all of a deep floor") {
  const RayScene nothing = farAway();
  const auto found = findSeatFloor(recessIn(kTop_mm), ring(3, 80, 2.5), nothing);
  REQUIRE(found);
  CHECK(std::abs(found->height_mm - 2.5) < 0.3);
  CHECK(found->seen_share > 0.6);
  CHECK(found->photos == 3);
}

TEST_CASE("findSeatFloor: too deep, too few, or nothing to agree on is said, not guessed") {
  const RayScene nothing = farAway();
  // From 45 degrees a recess as deep as 24 mm shows nothing of a floor 20 mm wide.
  CHECK_FALSE(findSeatFloor(recessIn(kTop_mm), ring(12, 45, 10), nothing));
  CHECK_FALSE(findSeatFloor(recessIn(kTop_mm), {photoFrom(0, 62, 20)}, nothing));
  std::vector<View> blank = ring(12, 62, 20);
  for (View& view : blank) view.bgr.setTo(cv::Scalar(90, 90, 90));
  CHECK_FALSE(findSeatFloor(recessIn(kTop_mm), blank, nothing));
}
