// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <algorithm>
#include <cmath>
#include <opencv2/core.hpp>
#include <optional>
#include <vector>

#include "capture/view.h"

namespace holdshelf {

/// One silhouette as a distance to its outline in the picture, px, positive inside. The outline
/// runs half way between the centres of pixels inside and outside.
struct OutlineField {
  Eigen::Matrix<float, 3, 4> P;  // (u w, v w, w) = P (x, y, z, 1), w the depth in mm.
  float focal_px;
  float width, height;  // Of the frame.
  cv::Mat distance;     // CV_32F, of the region of interest.
  float x0, y0;         // Its corner in the frame.
  bool whole;           // The silhouette does not touch the frame, so all of the hold is in it.

  /// How far outside of the silhouette a point lies, mm at its depth; nullopt out of frame.
  std::optional<float> outside_mm(const Eigen::Vector4f& point) const {
    const Eigen::Vector3f p = P * point;
    if (!(p.z() > 0)) return std::nullopt;
    const float u = p.x() / p.z(), v = p.y() / p.z();
    if (!whole && !(u >= 0 && v >= 0 && u <= width - 1 && v <= height - 1)) return std::nullopt;
    return -at(u - x0, v - y0) * p.z() / focal_px;
  }

  /// Distance at a place of the region of interest, interpolated between pixels.
  float at(float x, float y) const {
    // Outside the region of interest there is no silhouette: the distance grows from its border.
    const float cx = std::clamp(x, 0.f, float(distance.cols - 1)),
                cy = std::clamp(y, 0.f, float(distance.rows - 1));
    const int xi = std::min(int(cx), std::max(distance.cols - 2, 0)),
              yi = std::min(int(cy), std::max(distance.rows - 2, 0));
    const float fx = cx - float(xi), fy = cy - float(yi);
    const float* a = distance.ptr<float>(yi) + xi;
    const float* b = distance.ptr<float>(std::min(yi + 1, distance.rows - 1)) + xi;
    const int right = distance.cols > 1;
    const float value =
        (a[0] * (1 - fx) + a[right] * fx) * (1 - fy) + (b[0] * (1 - fx) + b[right] * fx) * fy;
    return value - std::hypot(x - cx, y - cy);
  }
};

/// The fields of all views with a mask that has anything in it, in their order.
std::vector<OutlineField> outlineFields(const std::vector<View>& views);

}  // namespace holdshelf
