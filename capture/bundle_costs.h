// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <array>

#include "capture/camera.h"

namespace ceres {
class CostFunction;
}

namespace holdshelf {

// The terms of the sum that adjustMatBundle (capture/mat_bundle.h) makes small, for Ceres, which
// takes them over. Lengths in mm of the mat's frame, residuals in standard uncertainties.

/// Order of the camera's parameters in the solver.
enum CameraParameter { kFx, kFy, kCx, kCy, kK1, kK2, kP1, kP2, kK3, kCameraParameters };
using CameraArray = std::array<double, kCameraParameters>;
CameraArray toArray(const CameraModel& model);
void fromArray(const CameraArray& parameters, CameraModel& model);

/// A corner seen at `px`: 2 residuals of camera, rotation (quaternion x y z w), translation and
/// corner. Cannot be evaluated where the corner lies behind the camera.
ceres::CostFunction* reprojectionCost(const Eigen::Vector2d& px, double sigma_px);

/// What a camera usually is, as nine weak observations of it.
/// @param focal_sigma_rel  Of the focal length that is expected.
ceres::CostFunction* cameraCost(int width_px, int height_px, double focal_px,
                                double focal_sigma_rel);

/// A corner stays near its nominal place: 0.3 mm in the plane, 6 mm out of it; 3 residuals.
ceres::CostFunction* cornerCost(const Eigen::Vector2d& nominal_mm);

/// A marker's four corners stay in one plane to 0.05 mm: paper bends, it does not twist in 35 mm.
ceres::CostFunction* twistCost();

/// A corner of the next marker lies near this marker's tangent plane, as a radius of curvature of
/// 400 mm allows: 1 residual of this marker's four corners and that corner.
/// @param marker_mm  Its four corners in the layout; @param at_mm  that corner there.
ceres::CostFunction* bendCost(const Eigen::Vector2d* marker_mm, const Eigen::Vector2d& at_mm);

}  // namespace holdshelf
