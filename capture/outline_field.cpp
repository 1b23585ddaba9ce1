// SPDX-License-Identifier: Apache-2.0
#include "capture/outline_field.h"

#include <tbb/parallel_for.h>

#include <cstddef>
#include <opencv2/imgproc.hpp>
#include <span>
#include <utility>

namespace holdshelf {
namespace {

/// Signed distance of pixel centres to the outline of a mask, positive inside.
cv::Mat signedDistance(const cv::Mat& mask) {
  cv::Mat inside = mask >= 128, outside = mask < 128, in, out;
  cv::distanceTransform(inside, in, cv::DIST_L2, cv::DIST_MASK_5);
  cv::distanceTransform(outside, out, cv::DIST_L2, cv::DIST_MASK_5);
  // Both count to the other side's pixel centres; the outline runs half way. A mask without any
  // outside has no outline: its distances are capped to the picture's size.
  const double cap = mask.rows + mask.cols;
  in = cv::min(in, cap);
  out = cv::min(out, cap);
  cv::Mat d = in - out;
  for (int y = 0; y < d.rows; ++y)
    for (float& v : std::span(d.ptr<float>(y), static_cast<std::size_t>(d.cols)))
      v += v > 0 ? -0.5f : 0.5f;
  // Takes the pixel steps out of slanted outlines.
  cv::GaussianBlur(d, d, {}, 0.8);
  return d;
}

}  // namespace

std::vector<OutlineField> outlineFields(const std::vector<View>& views) {
  std::vector<OutlineField> fields(views.size());
  std::vector<char> good(views.size(), 0);
  tbb::parallel_for(std::size_t(0), views.size(), [&](std::size_t i) {
    const View& view = views[i];
    if (view.mask.empty() || cv::countNonZero(view.mask >= 128) == 0) return;
    cv::Rect roi = cv::boundingRect(view.mask >= 128);
    const int border = 16 + std::max(roi.width, roi.height) / 4;
    roi =
        cv::Rect(roi.x - border, roi.y - border, roi.width + 2 * border, roi.height + 2 * border) &
        cv::Rect(0, 0, view.mask.cols, view.mask.rows);
    OutlineField& f = fields[i];
    const CameraModel& m = view.camera.model;
    Eigen::Matrix3d K;
    K << m.fx_px, 0, m.cx_px, 0, m.fy_px, m.cy_px, 0, 0, 1;
    f.P = (K * view.camera.T_camera_hold.matrix().topRows<3>()).cast<float>();
    f.focal_px = float(std::sqrt(m.fx_px * m.fy_px));
    f.width = float(view.mask.cols);
    f.height = float(view.mask.rows);
    f.x0 = float(roi.x);
    f.y0 = float(roi.y);
    const cv::Rect seen = cv::boundingRect(view.mask >= 128);
    f.whole = seen.x > 1 && seen.y > 1 && seen.br().x < view.mask.cols - 1 &&
              seen.br().y < view.mask.rows - 1;
    f.distance = signedDistance(view.mask(roi));
    good[i] = 1;
  });
  std::vector<OutlineField> kept;
  for (std::size_t i = 0; i < fields.size(); ++i)
    if (good[i]) kept.push_back(std::move(fields[i]));
  return kept;
}

}  // namespace holdshelf
