// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <opencv2/core.hpp>
#include <string>

#include "capture/view.h"

namespace holdshelf {

/// Resamples the photos of one camera to a pinhole with the same camera matrix and size, by Lanczos
/// interpolation over 8 x 8 pixels. Keeps the map, which is the same for all. Safe from any thread.
class Undistorter {
 public:
  explicit Undistorter(const CameraModel& lens);

  /// The photo as a pinhole view. Shares the pixels where the lens has no distortion. Parts that
  /// the photo did not see are black.
  /// @throws std::invalid_argument  The picture's size is not the camera's.
  View view(const std::string& photo, const cv::Mat& bgr,
            const Eigen::Isometry3d& T_camera_hold) const;

 private:
  CameraModel lens_;
  cv::Mat map_, map_fraction_;
};

}  // namespace holdshelf
