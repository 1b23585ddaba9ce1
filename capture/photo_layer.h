// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <opencv2/core.hpp>
#include <optional>
#include <vector>

#include "capture/mat_background.h"
#include "capture/mat_colours.h"
#include "capture/view.h"
#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// A photo, or a part of it, at a working resolution, with all that the search for the hold's
/// outline notes down of its pixels. All pictures are of one size.
struct PhotoLayer {
  double scale = 1;    ///< Of the photo's size.
  cv::Rect roi;        ///< In the scaled photo.
  PosedCamera camera;  ///< Of the scaled photo, all of it.
  cv::Mat features;    ///< CV_32FC3, colourFeature relative to white.
  cv::Mat ink;         ///< CV_8UC1 of MatInk: what the mat shows there if nothing is before it.
  cv::Mat patterned;   ///< CV_8UC1, 255 where the mat's pattern is recognised around.
  cv::Mat bare;        ///< CV_8UC1, 255 where surely the bare mat or background is seen.
  cv::Mat limit;       ///< CV_8UC1, 255 where the hold may be.
  cv::Mat core;        ///< CV_8UC1, 255 where the hold very likely is.
  cv::Mat mask;        ///< CV_8UC1, the outline found.

  Eigen::Vector3f feature(int x, int y) const {
    const cv::Vec3f& f = features.at<cv::Vec3f>(y, x);
    return {f[0], f[1], f[2]};
  }
  MatInk inkAt(int x, int y) const { return MatInk(ink.at<std::uint8_t>(y, x)); }
};

/// A mask grown or shrunk by a disc; what lies outside of the picture does not shrink it.
cv::Mat grown(const cv::Mat& mask, int radius);
cv::Mat shrunk(const cv::Mat& mask, int radius);
/// Silhouette of a mesh in a scaled photo.
cv::Mat drawnIn(const PosedCamera& camera, const TriangleMesh& mesh);

/// What is white in each photo, and what the mat shows behind each pixel: photos become layers by
/// it. The views must outlive it.
class PhotoLight {
 public:
  /// @param mat            Without one the brightest colours of all photos stand for white.
  /// @param points_H_mm    Of its markers' corners, frame H.
  /// @throws BadInput  The mat's paper is not seen in any photo; or without a mat, no photo is 4
  ///                   pixels wide and high.
  PhotoLight(const std::vector<View>& views, const std::optional<Mat>& mat,
             const std::vector<Eigen::Vector3d>& points_H_mm);

  const std::optional<MatBackground>& mat() const { return mat_; }
  MatColours matColours(std::size_t i) const;

  /// Features and ink of photo i, light averaged before it becomes a feature; nothing else is set.
  /// @param roi     Part of the scaled photo; all of it if not given.
  /// @param needed  Of the region's size: pixels to compute; the others stay zero.
  PhotoLayer layer(std::size_t i, double scale, const std::optional<cv::Rect>& roi = {},
                   const cv::Mat& needed = {}) const;

 private:
  void fillFeatures(std::size_t i, const cv::Mat& linear, const cv::Mat& needed,
                    PhotoLayer& layer) const;

  const std::vector<View>& views_;
  std::optional<MatBackground> mat_;
  std::vector<std::optional<PaperLight>> light_;
  float white_ = 1;
};

}  // namespace holdshelf
