// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <opencv2/core.hpp>
#include <vector>

#include "capture/camera.h"
#include "capture/view.h"

namespace holdshelf {

/// Depth of the hold's surface seen from one view, on a raster that may be coarser than the photo.
struct DepthMap {
  int view = -1;               ///< Index of the view it belongs to.
  PosedCamera camera;          ///< The view's camera at this raster; pinhole, T_camera_hold in mm.
  cv::Mat_<float> depth_mm;    ///< Along the camera's z; 0 where nothing was found.
  cv::Mat_<cv::Vec3f> normal;  ///< Unit, camera frame, towards the camera.
  cv::Mat_<float> cost;        ///< 1 - zero-mean normalised cross-correlation, 0 (best) to 2.

  /// Point in frame H of a pixel with depth.
  Eigen::Vector3d point_H_mm(int x, int y) const;
};

/// The pinhole camera of an image reduced by `scale` (0 < scale <= 1), pixel centres at whole
/// numbers before and after: u' = (u + 1/2) scale - 1/2.
PosedCamera scaledCamera(const PosedCamera& camera, double scale);

/// Grey values 0 to 255 of a view at `scale`, averaged over the pixels that fall together.
cv::Mat_<float> scaledGrey(const View& view, double scale);

/// The mask at `scale`: 255 where at least half of the pixels that fall together are hold.
cv::Mat_<std::uint8_t> scaledMask(const View& view, double scale);

}  // namespace holdshelf
