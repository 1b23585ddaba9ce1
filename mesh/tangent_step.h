// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Geometry>
#include <cstddef>
#include <vector>

#include "mesh/registration_target.h"

namespace holdshelf {

/// Points that are laid on a surface and where they lie on it, mm in the surface's frame. Kept from
/// step to step, since what was nearest before bounds how far the nearest can be now, and a bounded
/// search is short.
struct Pairing {
  explicit Pairing(std::size_t points);
  std::vector<Eigen::Vector3d> moved;   ///< The points where the last step began.
  std::vector<Eigen::Vector3d> offset;  ///< From the surface to the moved point.
  std::vector<Eigen::Vector3d> normal;  ///< Of the surface there, unit; not finite: none.
};

/// What a step did.
struct TangentStep {
  double median_mm = 0;  ///< Of the distances before the step.
  double moved_mm = 0;   ///< How far the step brought the points, at most.
};

/// One Gauss-Newton step on the distances of points from the tangent planes where they are nearest,
///   minimise  sum w_i (n_i . (T p_i - q_i))^2,
/// over the small rotation and shift of T, and over the points' size where that is asked for. The
/// weights are Tukey's biweight of the distances, as wide as 4.685 robust standard deviations,
/// twice `gentle_mm` at least: wide while far from home, tight at home, so that worn or missing
/// parts do not pull.
///
/// @param surface    What the points are laid on.
/// @param points_mm  In their own frame, at the size they have now.
/// @param T          From the points' frame to the surface's; the step is applied to it.
/// @param growth     Not nullptr: the size is free too. It is multiplied by what the step says (2 %
///                   at most), and the points must be scaled by it before the next.
/// Source: Chen, Medioni, "Object modelling by registration of multiple range images", Image and
/// Vision Computing 10(3), 1992; Beaton, Tukey, Technometrics 16, 1974 (biweight).
TangentStep tangentStep(const RegistrationTarget& surface,
                        const std::vector<Eigen::Vector3d>& points_mm, double gentle_mm,
                        Pairing& pairs, Eigen::Isometry3d& T, double* growth = nullptr);

}  // namespace holdshelf
