// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <array>
#include <opencv2/core.hpp>
#include <vector>

#include "capture/camera.h"
#include "proto/mat.pb.h"

namespace holdshelf {

/// A marker of the mat seen in a photo.
struct MarkerSighting {
  int marker = -1;                            ///< Index into the mat's markers.
  std::array<Eigen::Vector2d, 4> corners_px;  ///< Clockwise, order of the mat; good to 1-2 px.
};

/// Finds the mat's markers with OpenCV's ArUco detector, to a pixel or two; marker_edges.h refines
/// them. A marker id seen twice is left out, for neither can be trusted. Photos above about 3
/// megapixels are searched at reduced size.
///
/// @param grey  CV_8UC1.
/// @return  In the order of the mat.
std::vector<MarkerSighting> detectMarkers(const cv::Mat& grey, const Mat& mat);

/// Where a posed camera sees the mat's markers: those wholly in the picture, from above.
///
/// @param corners_A_mm  Four a marker, in the frame of the pose.
std::vector<MarkerSighting> expectedMarkers(const PosedCamera& camera_A,
                                            const std::vector<Eigen::Vector3d>& corners_A_mm);

}  // namespace holdshelf
