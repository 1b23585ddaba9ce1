// SPDX-License-Identifier: Apache-2.0
#include "capture/recess_look.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

namespace holdshelf {
namespace {

using Eigen::Vector3d;

constexpr double kBlur_px = 0.7;  ///< Bilinear sampling wants no finest detail.

/// The picture's part that shows the cylinder between two heights; empty: not in the frame.
cv::Rect partShowing(const Recess& recess, const View& view, double low_mm, double high_mm) {
  std::vector<cv::Point> points;
  for (int k = 0; k < 24; ++k)
    for (double z : {low_mm, high_mm}) {
      const double a = k * M_PI / 12;
      const auto q = view.camera.project({recess.axis_mm.x() + recess.radius_mm * std::cos(a),
                                          recess.axis_mm.y() + recess.radius_mm * std::sin(a), z});
      if (!q) return {};
      points.emplace_back(static_cast<int>(std::lround(q->x())),
                          static_cast<int>(std::lround(q->y())));
    }
  cv::Rect part = cv::boundingRect(points);
  part = cv::Rect(part.x - 4, part.y - 4, part.width + 8, part.height + 8);
  return part & cv::Rect(0, 0, view.bgr.cols, view.bgr.rows);
}

/// Whether a view may see past the rim down to anything below it.
bool looksIn(const Recess& recess, const View& view, double shallowest_mm) {
  const Vector3d d = view.camera.centre_H_mm() -
                     Vector3d(recess.axis_mm.x(), recess.axis_mm.y(), recess.lowestRim_mm());
  return d.z() * 2 * recess.radius_mm > shallowest_mm * d.head<2>().norm();
}

}  // namespace

std::optional<float> RecessLook::at(const Vector3d& point_mm) const {
  const auto q = view->camera.project(point_mm);
  if (!q) return std::nullopt;
  const double x = q->x() - corner.x, y = q->y() - corner.y;
  if (!(x >= 0 && y >= 0 && x < grey.cols - 1 && y < grey.rows - 1)) return std::nullopt;
  const int ix = static_cast<int>(x), iy = static_cast<int>(y);
  const auto fx = static_cast<float>(x - ix), fy = static_cast<float>(y - iy);
  return (grey(iy, ix) * (1 - fx) + grey(iy, ix + 1) * fx) * (1 - fy) +
         (grey(iy + 1, ix) * (1 - fx) + grey(iy + 1, ix + 1) * fx) * fy;
}

std::vector<RecessLook> looksInto(const Recess& recess, const std::vector<View>& views,
                                  double shallowest_mm) {
  std::vector<cv::Mat> parts;
  std::vector<RecessLook> looks;
  cv::Scalar sum;
  for (const View& view : views) {
    if (!looksIn(recess, view, shallowest_mm)) continue;
    const cv::Rect part = partShowing(recess, view, 0, recess.lowestRim_mm());
    if (part.area() < 100) continue;
    cv::Mat colours;
    view.bgr(part).convertTo(colours, CV_32F);
    sum += cv::mean(colours);
    parts.push_back(colours);
    looks.push_back({&view, {}, part.tl()});
  }
  const double all = std::max(1e-6, sum[0] + sum[1] + sum[2]);
  const cv::Matx13f hue(static_cast<float>(sum[0] / all), static_cast<float>(sum[1] / all),
                        static_cast<float>(sum[2] / all));
  for (std::size_t i = 0; i < looks.size(); ++i) {
    cv::Mat grey;
    cv::transform(parts[i], grey, hue);
    cv::GaussianBlur(grey, looks[i].grey, {0, 0}, kBlur_px);
  }
  return looks;
}

}  // namespace holdshelf
