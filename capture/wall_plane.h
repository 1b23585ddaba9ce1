// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Geometry>
#include <vector>

namespace holdshelf {

/// The plane that the hold stands on, from the corners of a mat that is not flat.
struct WallPlane {
  Eigen::Isometry3d T_wall_mat = Eigen::Isometry3d::Identity();  ///< z = 0 is the plane.
  double sigma_mm = 0;  ///< Standard uncertainty of its height under the hold.
};

/// Fits a plane to the mat's adjusted corners (frame A) near the middle of the layout, robustly:
/// iteratively reweighted least squares of z over (x, y), Tukey weights times a Gaussian of the
/// distance from the layout's middle. The wall frame turns the mat's frame by the least rotation
/// and keeps the mat's origin below its own.
///
/// @param corners_A_mm  Adjusted corners.
/// @param layout_M_mm   Nominal ones, same order.
WallPlane fitWallPlane(const std::vector<Eigen::Vector3d>& corners_A_mm,
                       const std::vector<Eigen::Vector2d>& layout_M_mm);

}  // namespace holdshelf
