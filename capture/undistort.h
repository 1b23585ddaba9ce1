// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <opencv2/core.hpp>
#include <string>

#include "capture/view.h"

namespace holdshelf {

/// A photo resampled to a pinhole camera with the same camera matrix and size, by Lanczos
/// interpolation over 8 x 8 pixels. Shares the pixels where the camera has no distortion. Parts
/// that the photo did not see are black.
/// @throws std::invalid_argument  The picture's size is not the camera's.
View undistort(const std::string& photo, const cv::Mat& bgr, const PosedCamera& camera);

}  // namespace holdshelf
