// SPDX-License-Identifier: Apache-2.0
#include "tests/bench/peer/stereo_depth.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <cmath>
#include <opencv2/calib3d.hpp>
#include <opencv2/imgproc.hpp>

namespace holdshelf {
namespace {

using Eigen::Matrix3d;
using Eigen::Vector3d;

/// A pair turned so that both images' rows run along the baseline, cut to the hold.
struct Rectified {
  Matrix3d R_rectified_left, R_rectified_right;  ///< From each camera's frame.
  double focal_px = 0, baseline_mm = 0;
  double left_cx_px = 0, right_cx_px = 0, cy_px = 0;
  cv::Size size;
  int disparities = 0;  ///< Searched from 0 on; a multiple of 16.
};

std::vector<Vector3d> cornersOf(const Eigen::AlignedBox3d& box) {
  std::vector<Vector3d> corners;
  for (int k = 0; k < 8; ++k)
    corners.push_back(box.corner(static_cast<Eigen::AlignedBox3d::CornerType>(k)));
  return corners;
}

Rectified rectify(const PosedCamera& left, const PosedCamera& right,
                  const std::vector<Vector3d>& hold) {
  const Matrix3d R_right_left =
      right.T_camera_hold.linear() * left.T_camera_hold.linear().transpose();
  const Vector3d baseline = left.T_camera_hold * right.centre_H_mm();
  Rectified out;
  out.baseline_mm = baseline.norm();
  out.focal_px = left.model.fx_px;
  const Vector3d x = baseline.normalized();
  const Vector3d forward = (Vector3d::UnitZ() + R_right_left.transpose().col(2)).normalized();
  const Vector3d y = forward.cross(x).normalized();
  out.R_rectified_left << x.transpose(), y.transpose(), x.cross(y).transpose();
  out.R_rectified_right = out.R_rectified_left * R_right_left.transpose();

  double left_low = 1e30, left_high = -1e30, right_low = 1e30, right_high = -1e30, low = 1e30,
         high = -1e30, least = 1e30, most = -1e30;
  for (const Vector3d& corner : hold) {
    const Vector3d p = out.R_rectified_left * (left.T_camera_hold * corner);
    const double u = out.focal_px * p.x() / p.z(), shift = out.focal_px * out.baseline_mm / p.z();
    const double v = out.focal_px * p.y() / p.z();
    left_low = std::min(left_low, u), left_high = std::max(left_high, u);
    right_low = std::min(right_low, u - shift), right_high = std::max(right_high, u - shift);
    low = std::min(low, v), high = std::max(high, v);
    least = std::min(least, shift), most = std::max(most, shift);
  }
  constexpr double kMargin_px = 12;
  out.disparities = 16 * int(std::ceil((most - least + 4) / 16));
  // OpenCV leaves a strip as wide as the search blank at the left.
  const double strip = out.disparities + kMargin_px;
  out.left_cx_px = strip - left_low;
  // The least disparity becomes 2: left u + cx - (right u + cx') with the difference of the two cx.
  out.right_cx_px = out.left_cx_px + least - 2;
  out.cy_px = kMargin_px - low;
  const double width =
      std::max(left_high + out.left_cx_px + kMargin_px, right_high + out.right_cx_px + kMargin_px);
  out.size = {int(std::ceil(width)), int(std::ceil(high - low + 2 * kMargin_px))};
  return out;
}

cv::Mat toCv(const Matrix3d& m) {
  cv::Mat out(3, 3, CV_64F);
  for (int r = 0; r < 3; ++r)
    for (int c = 0; c < 3; ++c) out.at<double>(r, c) = m(r, c);
  return out;
}

cv::Mat pinhole(double f, double cx, double cy) {
  return (cv::Mat_<double>(3, 3) << f, 0, cx, 0, f, cy, 0, 0, 1);
}

cv::Mat warped(const cv::Mat& image, const CameraModel& model, const Matrix3d& R, double f,
               double cx, double cy, cv::Size size, int interpolation) {
  const cv::Mat K =
      (cv::Mat_<double>(3, 3) << model.fx_px, 0, model.cx_px, 0, model.fy_px, model.cy_px, 0, 0, 1);
  cv::Mat map_x, map_y, out;
  cv::initUndistortRectifyMap(K, cv::noArray(), toCv(R), pinhole(f, cx, cy), size, CV_32FC1, map_x,
                              map_y);
  cv::remap(image, out, map_x, map_y, interpolation, cv::BORDER_CONSTANT);
  return out;
}

/// Disparity in px of the left picture where both directions agree, else 0.
cv::Mat_<float> disparityOf(const cv::Mat& left, const cv::Mat& right, int disparities,
                            const StereoOptions& options) {
  const int area = options.block_px * options.block_px;
  cv::Mat fixed;
  cv::StereoSGBM::create(0, disparities, options.block_px, 8 * area, 32 * area,
                         options.left_right_px, 31, options.uniqueness_percent, options.speckle_px,
                         2, options.mode)
      ->compute(left, right, fixed);
  cv::Mat_<float> out;
  fixed.convertTo(out, CV_32F, 1 / 16.0);  // OpenCV's fixed point; negative: none.
  return out;
}

DepthMap matchPair(const std::vector<View>& views, int l, int r, const std::vector<Vector3d>& hold,
                   const StereoOptions& options) {
  const View &left = views[size_t(l)], &right = views[size_t(r)];
  const Rectified pair = rectify(left.camera, right.camera, hold);
  const auto seen = [&](const View& view, const cv::Mat& image, const Matrix3d& R, double cx,
                        int interpolation) {
    return warped(image, view.camera.model, R, pair.focal_px, cx, pair.cy_px, pair.size,
                  interpolation);
  };
  cv::Mat left_grey, right_grey, mask;
  cv::cvtColor(seen(left, left.bgr, pair.R_rectified_left, pair.left_cx_px, cv::INTER_CUBIC),
               left_grey, cv::COLOR_BGR2GRAY);
  cv::cvtColor(seen(right, right.bgr, pair.R_rectified_right, pair.right_cx_px, cv::INTER_CUBIC),
               right_grey, cv::COLOR_BGR2GRAY);
  mask = seen(left, left.mask, pair.R_rectified_left, pair.left_cx_px, cv::INTER_NEAREST);
  const int shrink = 2 * int(std::lround(options.mask_shrink_px)) + 1;
  cv::erode(mask, mask, cv::getStructuringElement(cv::MORPH_ELLIPSE, {shrink, shrink}));

  DepthMap out;
  out.view = l;
  CameraModel& model = out.camera.model;
  model.width_px = pair.size.width, model.height_px = pair.size.height;
  model.fx_px = model.fy_px = pair.focal_px;
  model.cx_px = pair.left_cx_px, model.cy_px = pair.cy_px;
  out.camera.T_camera_hold =
      Eigen::Isometry3d(Eigen::AngleAxisd(pair.R_rectified_left)) * left.camera.T_camera_hold;
  out.depth_mm = disparityOf(left_grey, right_grey, pair.disparities, options);
  const double offset = pair.left_cx_px - pair.right_cx_px;
  for (int y = 0; y < out.depth_mm.rows; ++y)
    for (int x = 0; x < out.depth_mm.cols; ++x) {
      float& z = out.depth_mm(y, x);
      z = z > 0 && mask.at<std::uint8_t>(y, x)
              ? float(pair.focal_px * pair.baseline_mm / (double(z) - offset))
              : 0.F;
    }
  return out;
}

/// Each view with the neighbours whose angle, seen from the hold, is nearest to the best.
std::vector<std::pair<int, int>> choosePairs(const std::vector<View>& views,
                                             const Vector3d& centre_H_mm,
                                             const StereoOptions& options) {
  std::vector<std::pair<int, int>> pairs;
  for (size_t i = 0; i < views.size(); ++i) {
    if (views[i].mask.empty()) continue;
    const Vector3d a = (views[i].camera.centre_H_mm() - centre_H_mm).normalized();
    std::vector<std::pair<double, int>> found;
    for (size_t k = 0; k < views.size(); ++k) {
      if (k == i) continue;
      const Vector3d b = (views[k].camera.centre_H_mm() - centre_H_mm).normalized();
      const double angle = std::acos(std::clamp(a.dot(b), -1.0, 1.0)) * 180 / M_PI;
      if (angle >= options.least_angle_deg && angle <= options.most_angle_deg)
        found.emplace_back(std::abs(angle - options.angle_deg), int(k));
    }
    std::sort(found.begin(), found.end());
    for (size_t k = 0; k < found.size() && int(k) < options.pairs_a_view; ++k)
      pairs.emplace_back(int(i), found[k].second);
  }
  return pairs;
}

}  // namespace

std::vector<DepthMap> stereoDepth(const std::vector<View>& views, const Eigen::AlignedBox3d& box_mm,
                                  const StereoOptions& options) {
  const auto pairs = choosePairs(views, box_mm.center(), options);
  const auto corners = cornersOf(box_mm);
  std::vector<DepthMap> maps(pairs.size());
  tbb::parallel_for(size_t(0), pairs.size(), [&](size_t i) {
    maps[i] = matchPair(views, pairs[i].first, pairs[i].second, corners, options);
  });
  return maps;
}

}  // namespace holdshelf
