// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <cstdint>
#include <vector>

#include "capture/camera.h"

namespace holdshelf {

/// How the photos of a capture are taken.
struct RigOptions {
  int photos = 36;
  std::vector<double> rings_deg = {15, 35, 60};  ///< Heights over the mat; photos are shared out.
  int above = 0;             ///< More photos, from nearly straight above, into a bolt hole.
  double above_deg = 80;     ///< Their height.
  double distance_mm = 320;  ///< From the aimed-at point.
  Eigen::Vector3d target_mm{0, 0, 15};
  double hand_shake = 1;  ///< Scales how unevenly the photos are taken (0: to the degree).
  std::uint32_t seed = 1;
};

/// A phone-like camera: horizontal field of view, principal point a little off, mild distortion.
CameraModel phoneCamera(int width_px, int height_px, double field_of_view_deg = 62);

/// Camera at azimuth and elevation round the target, looking at it, +z up in the picture.
Eigen::Isometry3d lookAt(const Eigen::Vector3d& eye_mm, const Eigen::Vector3d& target_mm,
                         double roll_deg);

/// One camera a photo, ring by ring, evenly round with a hand's unevenness; those from above last.
std::vector<PosedCamera> takeRound(const CameraModel& model, const RigOptions& options);

}  // namespace holdshelf
