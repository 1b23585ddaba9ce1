// SPDX-License-Identifier: Apache-2.0
#include "capture/sight.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "capture/photo_raster.h"

namespace holdshelf {

Sight::Sight(const View& view, const TriangleMesh& mesh)
    : view_(view), eye_H_mm_(view.camera.centre_H_mm()) {
  scale_ = std::min(1.0, 900.0 / std::max(view.bgr.cols, view.bgr.rows));
  const cv::Size size(int(view.bgr.cols * scale_), int(view.bgr.rows * scale_));
  const cv::Rect2d whole(0, 0, view.bgr.cols, view.bgr.rows);
  const Raster raster = rasterise(mesh, rasterCamera(view.camera, whole, scale_, size));
  cv::Mat depth(size, CV_32FC1, const_cast<float*>(raster.depth_mm.data()));
  // The nearest depth of the neighbourhood: beside an edge that hides it a point is not seen.
  cv::erode(depth, nearest_, cv::getStructuringElement(cv::MORPH_RECT, {3, 3}));
}

std::optional<Seen> Sight::of(const Eigen::Vector3d& point_H_mm, const Eigen::Vector3d& normal,
                              double least_cosine) const {
  const Eigen::Vector3d line = eye_H_mm_ - point_H_mm;
  const double cosine = line.dot(normal) / line.norm();
  if (cosine < least_cosine) return std::nullopt;
  const auto pixel = view_.camera.project(point_H_mm);
  if (!pixel) return std::nullopt;
  const double u = pixel->x(), v = pixel->y();
  if (u < 1 || v < 1 || u > view_.bgr.cols - 2 || v > view_.bgr.rows - 2) return std::nullopt;
  const int x = std::min(int(u * scale_), nearest_.cols - 1),
            y = std::min(int(v * scale_), nearest_.rows - 1);
  const double depth = (view_.camera.T_camera_hold * point_H_mm).z();
  // A depth pixel's own slope, and a millimetre.
  const double tolerance =
      1 + 2 * depth / (view_.camera.model.fx_px * scale_) * std::sqrt(1 / (cosine * cosine) - 1);
  if (nearest_.at<float>(y, x) < depth - tolerance) return std::nullopt;
  return Seen{*pixel, cosine, depth / view_.camera.model.fx_px};
}

}  // namespace holdshelf
