// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <opencv2/core.hpp>
#include <string>

#include "capture/camera.h"

namespace holdshelf {

/// One photo as the reconstruction sees it: distortion removed, pose known.
struct View {
  std::string photo;   ///< File name, for messages.
  cv::Mat bgr;         ///< CV_8UC3, undistorted.
  cv::Mat mask;        ///< CV_8UC1, 255 where the hold is seen, or empty before segmentation.
  PosedCamera camera;  ///< Pinhole without distortion; T_camera_hold in mm.
};

}  // namespace holdshelf
