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

/// Luminance in linear light, 0 to 1, CV_32FC1, of an sRGB photo (IEC 61966-2-1 inverse). A pixel
/// averages light before the tone curve, so only here is a blurred edge symmetrical: in sRGB values
/// a dark marker's sides sit 0.1 to 0.2 px inwards.
cv::Mat linearLight(const cv::Mat& bgr);

/// Fits each side with the model of a straight step blurred by a Gaussian,
///   I(s, t) = D(s) + (B(s) - D(s)) Phi((t - o - m s) / sigma),
/// t across and s along the side, dark D and bright B free on every scan line, by Gauss-Newton with
/// Tukey weights a scan line; intersects neighbouring sides for the corners. Sides that an object
/// covers, that touch clutter, or whose scan lines disagree are rejected with their two corners.
///
/// @param linear   CV_32FC1 from linearLight.
/// @param corners  Start, within about 3 px.
/// @param cells    Cells along the marker's side with its border (8 for a 6 x 6 code): a scan line
///                 must stay inside the border cell.
/// @param lens     The camera where it is known: sides are then straight in its undistorted
///                 coordinates. nullptr: taken as straight in the photo.
MarkerEdges refineMarker(const cv::Mat& linear, const std::array<Eigen::Vector2d, 4>& corners_px,
                         int cells, const CameraModel* lens);

/// Undistorted pixel (same camera matrix) of a photo's pixel and back.
Eigen::Vector2d idealPixel(const CameraModel& lens, const Eigen::Vector2d& photo_px);
Eigen::Vector2d photoPixel(const CameraModel& lens, const Eigen::Vector2d& ideal_px);

}  // namespace holdshelf
