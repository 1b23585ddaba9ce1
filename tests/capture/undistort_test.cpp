// SPDX-License-Identifier: Apache-2.0
#include "capture/undistort.h"

#include <doctest/doctest.h>

#include <opencv2/imgproc.hpp>
#include <stdexcept>

using namespace holdshelf;
using Eigen::Vector2d;

TEST_CASE("Undistorter: a point drawn through the lens lands where the pinhole puts it") {
  PosedCamera camera;
  camera.model = {320, 240, 280, 281, 161, 118, -0.25, 0.06, 0, 0.001, -0.0008};
  camera.T_camera_hold.translation().z() = 300;
  cv::Mat photo(240, 320, CV_8UC3, cv::Scalar::all(20));
  const Eigen::Vector3d point(90, -60, 0);
  const Vector2d seen = *camera.project(point);
  for (int y = 0; y < photo.rows; ++y)
    for (int x = 0; x < photo.cols; ++x)
      photo.at<cv::Vec3b>(y, x) += cv::Vec3b::all(cv::saturate_cast<unsigned char>(
          200 * std::exp(-(Vector2d(x, y) - seen).squaredNorm() / 8)));
  const View view = Undistorter(camera.model).view("a.jpg", photo, camera.T_camera_hold);
  CHECK_FALSE(view.camera.model.distorted());
  CHECK((*view.camera.project(point) - seen).norm() > 2);  // The lens matters here.
  cv::Mat grey;
  cv::extractChannel(view.bgr, grey, 0);
  cv::Mat above;
  cv::threshold(grey, above, 30, 0, cv::THRESH_TOZERO);
  const cv::Moments m = cv::moments(above);
  const Vector2d found(m.m10 / m.m00, m.m01 / m.m00);
  CHECK((found - *view.camera.project(point)).norm() < 0.1);
  // Nothing to undo: the pixels are shared.
  camera.model = view.camera.model;
  CHECK(Undistorter(camera.model).view("a.jpg", photo, camera.T_camera_hold).bgr.data ==
        photo.data);
  CHECK_THROWS_AS(
      Undistorter(camera.model).view("a.jpg", cv::Mat(9, 9, CV_8UC3), camera.T_camera_hold),
      std::invalid_argument);
}
