// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <opencv2/core.hpp>

#include "capture/camera.h"

namespace holdshelf {

/// A straight edge between dark and bright, as fitted: the points
/// middle + s direction + (offset + slope s) towards_bright, in ideal (undistorted) pixels.
struct EdgeLine {
  Eigen::Vector2d middle, direction, towards_bright;
  double offset = 0, slope = 0;
  double offset_sigma = 0, slope_sigma = 0;  ///< Standard uncertainties, px and px per px.
  double blur_px = 0;                        ///< Gaussian sigma of the edge's blur.
  bool valid = false;

  Eigen::Vector2d point(double s) const {
    return middle + s * direction + (offset + slope * s) * towards_bright;
  }
};

/// Luminance in linear light, 0 to 1, CV_32FC1, of an sRGB photo (IEC 61966-2-1 inverse). A pixel
/// averages light before the tone curve, so only here is a blurred edge symmetrical: in sRGB values
/// a dark marker's sides sit 0.1 to 0.2 px inwards.
cv::Mat linearLight(const cv::Mat& bgr);

/// Fits an edge near the segment from a to b with a straight step blurred by a Gaussian,
///   I(s, t) = D(s) + (B(s) - D(s)) Phi((t - offset - slope s) / blur),
/// t across and s along, dark D and bright B free on every scan line (eliminated), by Gauss-Newton
/// with Tukey weights on the scan lines. Scan lines start a little inside the ends. Not valid when
/// less than 60 % of the scan lines agree, the contrast is below 4 % of white, or the blur leaves
/// no plateaus.
///
/// @param linear       CV_32FC1 from linearLight.
/// @param a,b          Ends of the segment, ideal pixels, within about 3 px of the edge.
/// @param bright_side  Any point on the bright side of it.
/// @param reach_px     Half length of a scan line; neither side may change within it.
/// @param lens         Maps ideal to photo pixels; nullptr: they are the same.
EdgeLine fitEdge(const cv::Mat& linear, const Eigen::Vector2d& a, const Eigen::Vector2d& b,
                 const Eigen::Vector2d& bright_side, double reach_px, const CameraModel* lens);

/// Undistorted pixel (same camera matrix) of a photo's pixel and back.
Eigen::Vector2d idealPixel(const CameraModel& lens, const Eigen::Vector2d& photo_px);
Eigen::Vector2d photoPixel(const CameraModel& lens, const Eigen::Vector2d& ideal_px);

}  // namespace holdshelf
