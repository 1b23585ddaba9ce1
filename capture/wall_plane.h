// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Geometry>
#include <vector>

namespace holdshelf {

/// The plane that the hold stands on, from the corners of a mat that is not flat.
struct WallPlane {
  Eigen::Isometry3d T_wall_mat = Eigen::Isometry3d::Identity();  ///< z = 0 is the plane.
  /// Standard uncertainty of its height under the hold: the fit's own, and what the paper may have
  /// risen by where the first corner shows. It rises by the square of the distance, so by the mean
  /// lift of the corners that count, times (distance of the nearest / of the 24th)^2.
  double sigma_mm = 0;
};

/// Fits the plane under the middle of the mat from its adjusted corners (frame A). Paper on a table
/// can only be lifted off it, at its curled edges most, and is held down where the hold stands; so
/// the plane is a lower one: iteratively reweighted least squares of z over (x, y), in which a
/// corner above the plane counts a twentieth of one below (the 5 % expectile), the 24 corners
/// nearest to the middle count most, and one far below not at all (Tukey). The wall frame turns the
/// mat's frame by the least rotation and keeps the mat's origin below its own.
///
/// @param corners_A_mm  Adjusted corners.
/// @param layout_M_mm   Nominal ones, same order.
/// @param seen          Photos that each corner was measured in: below 3, as under the hold, its
///                      height is guesswork and does not count.
///
/// Source of the asymmetric least squares: Newey, Powell, Econometrica 55(4), 1987.
WallPlane fitWallPlane(const std::vector<Eigen::Vector3d>& corners_A_mm,
                       const std::vector<Eigen::Vector2d>& layout_M_mm,
                       const std::vector<int>& seen);

}  // namespace holdshelf
