// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <array>
#include <opencv2/core.hpp>

#include "capture/camera.h"

namespace holdshelf {

/// A marker's corners from its four sides, to a few hundredths of a pixel.
struct MarkerEdges {
  std::array<Eigen::Vector2d, 4> corners_px;  ///< In the photo, lens distortion and all.
  std::array<double, 4> sigma_px{};           ///< Standard uncertainty of each; 0: not measured.
  double blur_px = 0;                         ///< Gaussian sigma of the blurrier pair of sides.
};

/// Fits each side of a marker (edge_line.h) and intersects neighbouring sides for the corners.
/// Sides that an object covers, that touch clutter, or whose scan lines disagree are rejected with
/// their two corners; so are corners that end up more than 3 px or 6 % of the side from the start.
///
/// @param linear   CV_32FC1 from linearLight.
/// @param corners_px  Start, within about 3 px.
/// @param cells    Cells along the marker's side with its border (8 for a 6 x 6 code): a scan line
///                 must stay inside the border cell.
/// @param lens     The camera where it is known: sides are then straight in its undistorted
///                 coordinates. nullptr: taken as straight in the photo.
MarkerEdges refineMarker(const cv::Mat& linear, const std::array<Eigen::Vector2d, 4>& corners_px,
                         int cells, const CameraModel* lens);

}  // namespace holdshelf
