// SPDX-License-Identifier: Apache-2.0
#include "mesh/raster_camera.h"

#include <algorithm>

namespace holdshelf {

Eigen::Vector3d RasterCamera::project(const Eigen::Vector3d& point_mm) const {
  const Eigen::Vector3d p = T_camera_mesh * point_mm;
  const double w = orthographic ? 1 : p.z();
  return {fx * p.x() / w + cx, fy * p.y() / w + cy, p.z()};
}

RasterCamera fitOrthographic(const TriangleMesh& mesh, const Eigen::Vector3d& from,
                             const Eigen::Vector3d& up, int width_px, int height_px,
                             double margin) {
  const Eigen::Vector3d forward = -from.normalized();
  Eigen::Vector3d right = forward.cross(up);
  if (right.norm() < 1e-9) right = forward.unitOrthogonal();
  right.normalize();
  Eigen::Matrix3d R;
  R.row(0) = right;
  R.row(1) = forward.cross(right);
  R.row(2) = forward;
  Eigen::AlignedBox3d box;
  for (const auto& v : mesh.vertices_mm) box.extend(Eigen::Vector3d(R * v));
  if (box.isEmpty()) box.extend(Eigen::Vector3d(0, 0, 0));
  const Eigen::Vector3d size = box.sizes().cwiseMax(1e-6), centre = box.center();
  RasterCamera camera;
  camera.width_px = width_px;
  camera.height_px = height_px;
  camera.orthographic = true;
  camera.fx = camera.fy = (1 - 2 * margin) * std::min(width_px / size.x(), height_px / size.y());
  camera.cx = (width_px - 1) / 2.0 - camera.fx * centre.x();
  camera.cy = (height_px - 1) / 2.0 - camera.fy * centre.y();
  camera.T_camera_mesh.linear() = R;
  camera.T_camera_mesh.translation() = Eigen::Vector3d(0, 0, 1 - box.min().z());
  return camera;
}

}  // namespace holdshelf
