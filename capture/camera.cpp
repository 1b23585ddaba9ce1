// SPDX-License-Identifier: Apache-2.0
#include "capture/camera.h"

namespace holdshelf {
namespace {

/// Distorted from ideal normalised coordinates.
Eigen::Vector2d distort(const CameraModel& m, const Eigen::Vector2d& n) {
  const double x = n.x(), y = n.y(), r2 = x * x + y * y;
  const double radial = 1 + r2 * (m.k1 + r2 * (m.k2 + r2 * m.k3));
  return {x * radial + 2 * m.p1 * x * y + m.p2 * (r2 + 2 * x * x),
          y * radial + m.p1 * (r2 + 2 * y * y) + 2 * m.p2 * x * y};
}

/// Jacobian of distort at n.
Eigen::Matrix2d distortJacobian(const CameraModel& m, const Eigen::Vector2d& n) {
  const double x = n.x(), y = n.y(), r2 = x * x + y * y;
  const double radial = 1 + r2 * (m.k1 + r2 * (m.k2 + r2 * m.k3));
  const double slope = 2 * (m.k1 + r2 * (2 * m.k2 + r2 * 3 * m.k3));
  const double cross = slope * x * y + 2 * (m.p1 * x + m.p2 * y);
  Eigen::Matrix2d J;
  J << radial + slope * x * x + 2 * m.p1 * y + 6 * m.p2 * x, cross, cross,
      radial + slope * y * y + 6 * m.p1 * y + 2 * m.p2 * x;
  return J;
}

}  // namespace

std::optional<Eigen::Vector2d> CameraModel::project(const Eigen::Vector3d& p) const {
  if (!(p.z() > 0)) return std::nullopt;
  const Eigen::Vector2d d = distort(*this, p.head<2>() / p.z());
  return Eigen::Vector2d(fx_px * d.x() + cx_px, fy_px * d.y() + cy_px);
}

Eigen::Vector3d CameraModel::ray(const Eigen::Vector2d& pixel) const {
  const Eigen::Vector2d target((pixel.x() - cx_px) / fx_px, (pixel.y() - cy_px) / fy_px);
  Eigen::Vector2d n = target;
  if (distorted()) {
    for (int i = 0; i < 20; ++i) {
      const Eigen::Vector2d miss = distort(*this, n) - target;
      n -= distortJacobian(*this, n).inverse() * miss;
      if (miss.norm() < 1e-10) break;
    }
  }
  return {n.x(), n.y(), 1};
}

double azimuth_deg(const Eigen::Vector3d& from) {
  return std::atan2(from.y(), from.x()) * 180 / M_PI;
}

double elevation_deg(const Eigen::Vector3d& from) {
  return std::atan2(from.z(), from.head<2>().norm()) * 180 / M_PI;
}

Intrinsics toProto(const CameraModel& m) {
  Intrinsics out;
  out.set_width_px(m.width_px);
  out.set_height_px(m.height_px);
  out.set_fx_px(m.fx_px);
  out.set_fy_px(m.fy_px);
  out.set_cx_px(m.cx_px);
  out.set_cy_px(m.cy_px);
  out.set_k1(m.k1);
  out.set_k2(m.k2);
  out.set_k3(m.k3);
  out.set_p1(m.p1);
  out.set_p2(m.p2);
  return out;
}

CameraModel fromProto(const Intrinsics& in) {
  CameraModel m;
  m.width_px = in.width_px();
  m.height_px = in.height_px();
  m.fx_px = in.fx_px();
  m.fy_px = in.fy_px();
  m.cx_px = in.cx_px();
  m.cy_px = in.cy_px();
  m.k1 = in.k1();
  m.k2 = in.k2();
  m.k3 = in.k3();
  m.p1 = in.p1();
  m.p2 = in.p2();
  return m;
}

PhotoCamera toProto(const std::string& photo, const PosedCamera& camera) {
  PhotoCamera out;
  out.set_photo(photo);
  *out.mutable_intrinsics() = toProto(camera.model);
  const Eigen::Matrix3d R = camera.T_camera_hold.linear();
  for (int r = 0; r < 3; ++r)
    for (int c = 0; c < 3; ++c) out.mutable_t_camera_hold()->add_rotation(R(r, c));
  for (int r = 0; r < 3; ++r)
    out.mutable_t_camera_hold()->add_translation_mm(camera.T_camera_hold.translation()[r]);
  return out;
}

PosedCamera fromProto(const PhotoCamera& in) {
  PosedCamera out;
  out.model = fromProto(in.intrinsics());
  const Pose& pose = in.t_camera_hold();
  if (pose.rotation_size() != 9 || pose.translation_mm_size() != 3) return out;
  for (int r = 0; r < 3; ++r)
    for (int c = 0; c < 3; ++c) out.T_camera_hold.linear()(r, c) = pose.rotation(3 * r + c);
  for (int r = 0; r < 3; ++r) out.T_camera_hold.translation()[r] = pose.translation_mm(r);
  return out;
}

}  // namespace holdshelf
