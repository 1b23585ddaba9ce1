// SPDX-License-Identifier: Apache-2.0
#include "capture/undistort.h"

#include <opencv2/calib3d.hpp>
#include <opencv2/imgproc.hpp>
#include <stdexcept>

namespace holdshelf {

View undistort(const std::string& photo, const cv::Mat& bgr, const PosedCamera& camera) {
  const CameraModel& m = camera.model;
  if (bgr.cols != m.width_px || bgr.rows != m.height_px)
    throw std::invalid_argument("undistort: the picture's size is not the camera's");
  View view;
  view.photo = photo;
  view.camera = camera;
  view.camera.model.k1 = view.camera.model.k2 = view.camera.model.k3 = 0;
  view.camera.model.p1 = view.camera.model.p2 = 0;
  if (!m.distorted()) {
    view.bgr = bgr;
    return view;
  }
  const cv::Matx33d K(m.fx_px, 0, m.cx_px, 0, m.fy_px, m.cy_px, 0, 0, 1);
  const cv::Vec<double, 5> distortion(m.k1, m.k2, m.p1, m.p2, m.k3);
  cv::Mat map_x, map_y;
  cv::initUndistortRectifyMap(K, distortion, cv::noArray(), K, bgr.size(), CV_32FC1, map_x, map_y);
  cv::remap(bgr, view.bgr, map_x, map_y, cv::INTER_LANCZOS4, cv::BORDER_CONSTANT);
  return view;
}

}  // namespace holdshelf
