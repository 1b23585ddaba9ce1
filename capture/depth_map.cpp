// SPDX-License-Identifier: Apache-2.0
#include "capture/depth_map.h"

#include <cmath>
#include <opencv2/imgproc.hpp>

namespace holdshelf {
namespace {

cv::Size scaledSize(const CameraModel& model, double scale) {
  return {static_cast<int>(std::lround(model.width_px * scale)),
          static_cast<int>(std::lround(model.height_px * scale))};
}

}  // namespace

Eigen::Vector3d DepthMap::point_H_mm(int x, int y) const {
  const Eigen::Vector3d p = camera.model.ray({x, y}) * static_cast<double>(depth_mm(y, x));
  return camera.T_camera_hold.inverse() * p;
}

PosedCamera scaledCamera(const PosedCamera& camera, double scale) {
  PosedCamera out = camera;
  const cv::Size size = scaledSize(camera.model, scale);
  const double sx = static_cast<double>(size.width) / camera.model.width_px;
  const double sy = static_cast<double>(size.height) / camera.model.height_px;
  out.model.width_px = size.width;
  out.model.height_px = size.height;
  out.model.fx_px *= sx;
  out.model.fy_px *= sy;
  out.model.cx_px = (camera.model.cx_px + 0.5) * sx - 0.5;
  out.model.cy_px = (camera.model.cy_px + 0.5) * sy - 0.5;
  return out;
}

cv::Mat_<float> scaledGrey(const View& view, double scale) {
  cv::Mat grey, small;
  cv::cvtColor(view.bgr, grey, cv::COLOR_BGR2GRAY);
  grey.convertTo(grey, CV_32F);
  if (scale >= 1) return grey;
  cv::resize(grey, small, scaledSize(view.camera.model, scale), 0, 0, cv::INTER_AREA);
  return small;
}

cv::Mat_<std::uint8_t> scaledMask(const View& view, double scale) {
  if (scale >= 1) return view.mask;
  cv::Mat small;
  cv::resize(view.mask, small, scaledSize(view.camera.model, scale), 0, 0, cv::INTER_AREA);
  return small >= 128;
}

}  // namespace holdshelf
