// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <Eigen/Geometry>

#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// A camera without distortion, for drawing meshes. Camera frame: x right, y down, z forward;
/// pixel centres lie at whole numbers.
/// Perspective: u = fx x/z + cx. Orthographic: u = fx x + cx, with fx in pixels a millimetre.
struct RasterCamera {
  int width_px = 0;
  int height_px = 0;
  double fx = 0, fy = 0, cx = 0, cy = 0;
  Eigen::Isometry3d T_camera_mesh = Eigen::Isometry3d::Identity();  ///< Mesh frame to camera, mm.
  bool orthographic = false;

  /// (u px, v px, depth mm); u and v mean nothing when a perspective depth is not positive.
  Eigen::Vector3d project(const Eigen::Vector3d& point_mm) const;
};

/// An orthographic camera that looks at the mesh from `from` (a direction towards the viewer, mesh
/// frame) with `up` upwards in the picture, the mesh's box filling all but `margin` of it: a share
/// of the picture, left free on each side of its tighter direction. Where `up` runs along the line
/// of sight, any direction across it is up.
RasterCamera fitOrthographic(const TriangleMesh& mesh, const Eigen::Vector3d& from,
                             const Eigen::Vector3d& up, int width_px, int height_px,
                             double margin = 0.04);

}  // namespace holdshelf
