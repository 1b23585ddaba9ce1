// SPDX-License-Identifier: Apache-2.0
#pragma once
// A round recess in a flat top, and photos of it that are drawn by tracing each pixel's ray to top,
// wall and floor exactly.
#include <cmath>
#include <cstdint>
#include <vector>

#include "capture/recess.h"
#include "capture/view.h"
#include "mesh/ray_scene.h"
#include "mesh/triangle_mesh.h"
#include "tests/photobooth/camera_rig.h"

namespace holdshelf {

inline constexpr double kRadius_mm = 10, kTop_mm = 34;

/// Something that the rays never meet.
inline RayScene farAway() {
  TriangleMesh mesh;
  mesh.vertices_mm = {{1e5, 0, -1e5}, {1e5, 1, -1e5}, {1e5, 0, -1e5 + 1}};
  mesh.triangles = {{0, 1, 2}};
  return RayScene(mesh);
}

inline Recess recessIn(double top_mm) {
  Recess recess;
  recess.radius_mm = kRadius_mm;
  recess.rim_mm.assign(72, top_mm);
  return recess;
}

/// Solid texture: grey by place, features of 2 to 4 mm.
inline double textureAt(const Eigen::Vector3d& p) {
  return std::sin(2.1 * p.x() + 0.7 * p.y() + 1.3 * p.z()) +
         std::sin(-1.1 * p.x() + 2.3 * p.y() - 0.8 * p.z() + 1) +
         std::sin(1.7 * p.x() + 1.6 * p.y() + 2.2 * p.z() + 2);
}

/// What a ray meets first: top, wall or floor of the recess.
inline double brightnessAlong(const Eigen::Vector3d& eye, const Eigen::Vector3d& d,
                              double floor_mm) {
  const Eigen::Vector3d top = eye + d * ((kTop_mm - eye.z()) / d.z());
  if (top.head<2>().norm() > kRadius_mm) return 150 + 20 * textureAt(top);
  const Eigen::Vector3d floor = eye + d * ((floor_mm - eye.z()) / d.z());
  if (floor.head<2>().norm() < kRadius_mm) return 40 + 6 * textureAt(floor);
  const double a = d.head<2>().squaredNorm(), b = top.head<2>().dot(d.head<2>()),
               c = top.head<2>().squaredNorm() - kRadius_mm * kRadius_mm;
  const Eigen::Vector3d wall = top + d * ((-b + std::sqrt(b * b - a * c)) / a);
  return 60 + 8 * textureAt(wall);
}

inline View photoFrom(double azimuth_deg, double elevation_deg, double floor_mm) {
  View view;
  CameraModel& m = view.camera.model;
  m.width_px = m.height_px = 220;
  m.fx_px = m.fy_px = 1300;
  m.cx_px = m.cy_px = 109.5;
  const double a = azimuth_deg * M_PI / 180, e = elevation_deg * M_PI / 180;
  const Eigen::Vector3d away(std::cos(e) * std::cos(a), std::cos(e) * std::sin(a), std::sin(e)),
      eye = Eigen::Vector3d(0, 0, 22) + 300 * away;
  view.camera.T_camera_hold = lookAt(eye, {0, 0, 22}, 0);
  const Eigen::Matrix3d R = view.camera.T_camera_hold.linear();
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

inline std::vector<View> ring(int photos, double elevation_deg, double floor_mm) {
  std::vector<View> views;
  for (int i = 0; i < photos; ++i)
    views.push_back(photoFrom(i * 360.0 / photos + 7, elevation_deg, floor_mm));
  return views;
}

}  // namespace holdshelf
