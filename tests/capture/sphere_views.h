// SPDX-License-Identifier: Apache-2.0
#pragma once
// Exact silhouettes of a sphere: what its tangent cones hold.
#include <cmath>
#include <cstdint>
#include <vector>

#include "capture/view.h"
#include "tests/photobooth/camera_rig.h"

namespace holdshelf::test {

/// A camera at `centre` that looks at `target`, 480 x 360.
inline PosedCamera lookingAt(const Eigen::Vector3d& centre, const Eigen::Vector3d& target) {
  PosedCamera camera;
  camera.model.width_px = 480;
  camera.model.height_px = 360;
  camera.model.fx_px = camera.model.fy_px = 700;
  camera.model.cx_px = 241.3;
  camera.model.cy_px = 178.9;
  camera.T_camera_hold = lookAt(centre, target, 0);
  return camera;
}

/// The sine of the angle between the ray to p and the ray to the sphere's centre, minus that of the
/// sphere's tangent cone: negative inside the cone.
inline double outsideCone(const PosedCamera& camera, const Eigen::Vector3d& p,
                          const Eigen::Vector3d& centre, double radius) {
  const Eigen::Vector3d eye = camera.centre_H_mm();
  const double d = (centre - eye).norm();
  return (p - eye).cross(centre - eye).norm() / ((p - eye).norm() * d) - radius / d;
}

/// The sphere's exact silhouette: pixels whose centre's ray lies in its tangent cone.
inline View sphereView(const PosedCamera& camera, const Eigen::Vector3d& centre, double radius) {
  View view;
  view.camera = camera;
  view.mask = cv::Mat::zeros(camera.model.height_px, camera.model.width_px, CV_8UC1);
  const Eigen::Matrix3d R_hold_camera = camera.T_camera_hold.rotation().transpose();
  for (int y = 0; y < view.mask.rows; ++y)
    for (int x = 0; x < view.mask.cols; ++x) {
      const Eigen::Vector3d p =
          camera.centre_H_mm() + R_hold_camera * camera.model.ray(Eigen::Vector2d(x, y));
      if (outsideCone(camera, p, centre, radius) < 0) view.mask.at<std::uint8_t>(y, x) = 255;
    }
  return view;
}

/// Cameras all round on two rings, at 350 mm.
inline std::vector<View> ring(int count, const Eigen::Vector3d& centre, double radius) {
  std::vector<View> views;
  for (int i = 0; i < count; ++i) {
    const double a = 2 * M_PI * i / count, e = (i % 2 ? 20 : 50) * M_PI / 180;
    const Eigen::Vector3d from(std::cos(e) * std::cos(a), std::cos(e) * std::sin(a), std::sin(e));
    views.push_back(sphereView(lookingAt(centre + 350 * from, centre), centre, radius));
  }
  return views;
}

}  // namespace holdshelf::test
