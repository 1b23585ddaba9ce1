// SPDX-License-Identifier: Apache-2.0
#include "capture/undistort.h"

#include <opencv2/calib3d.hpp>
#include <opencv2/imgproc.hpp>
#include <stdexcept>

namespace holdshelf {

Undistorter::Undistorter(const CameraModel& m) : lens_(m) {
  if (!m.distorted()) return;
  const cv::Matx33d K(m.fx_px, 0, m.cx_px, 0, m.fy_px, m.cy_px, 0, 0, 1);
  const cv::Vec<double, 5> distortion(m.k1, m.k2, m.p1, m.p2, m.k3);
  cv::initUndistortRectifyMap(K, distortion, cv::noArray(), K, {m.width_px, m.height_px}, CV_16SC2,
                              map_, map_fraction_);
}

View Undistorter::view(const std::string& photo, const cv::Mat& bgr,
                       const Eigen::Isometry3d& T_camera_hold) const {
  if (bgr.cols != lens_.width_px || bgr.rows != lens_.height_px)
    throw std::invalid_argument("Undistorter: the picture's size is not the camera's");
  View view;
  view.photo = photo;
  view.camera = {lens_, T_camera_hold};
  view.camera.model.k1 = view.camera.model.k2 = view.camera.model.k3 = 0;
  view.camera.model.p1 = view.camera.model.p2 = 0;
  if (lens_.distorted())
    cv::remap(bgr, view.bgr, map_, map_fraction_, cv::INTER_LANCZOS4, cv::BORDER_CONSTANT);
  else
    view.bgr = bgr;
  return view;
}

}  // namespace holdshelf
