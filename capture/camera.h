// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <Eigen/Geometry>
#include <optional>
#include <string>

#include "proto/camera.pb.h"

namespace holdshelf {

/// Pinhole camera with radial and tangential distortion, the model written out in camera.proto.
/// Pixel centres lie at whole numbers. Camera frame: x right, y down, z forward.
struct CameraModel {
  int width_px = 0;
  int height_px = 0;
  double fx_px = 0, fy_px = 0, cx_px = 0, cy_px = 0;
  double k1 = 0, k2 = 0, k3 = 0, p1 = 0, p2 = 0;

  /// Pixel of a point in the camera frame (any unit), or nullopt when it is behind the camera.
  std::optional<Eigen::Vector2d> project(const Eigen::Vector3d& point_camera) const;

  /// Ray direction (z = 1) in the camera frame through a pixel; inverts the distortion by Newton
  /// iteration to 1e-10 in normalised coordinates.
  Eigen::Vector3d ray(const Eigen::Vector2d& pixel) const;

  bool distorted() const { return k1 != 0 || k2 != 0 || k3 != 0 || p1 != 0 || p2 != 0; }
};

/// A posed photo: x_camera = T_camera_hold * x_hold, millimetres.
struct PosedCamera {
  CameraModel model;
  Eigen::Isometry3d T_camera_hold = Eigen::Isometry3d::Identity();

  std::optional<Eigen::Vector2d> project(const Eigen::Vector3d& point_H_mm) const {
    return model.project(T_camera_hold * point_H_mm);
  }
  /// Centre of projection, frame H, mm.
  Eigen::Vector3d centre_H_mm() const { return T_camera_hold.inverse().translation(); }
};

/// Which side of the hold a camera looks from: counter-clockwise from the frame's x as seen from
/// its z, and the height over its plane. @param from  Camera's centre less what it looks at.
double azimuth_deg(const Eigen::Vector3d& from);
double elevation_deg(const Eigen::Vector3d& from);

Intrinsics toProto(const CameraModel& model);
CameraModel fromProto(const Intrinsics& intrinsics);
PhotoCamera toProto(const std::string& photo, const PosedCamera& camera);
PosedCamera fromProto(const PhotoCamera& camera);

}  // namespace holdshelf
