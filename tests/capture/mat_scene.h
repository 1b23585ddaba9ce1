// SPDX-License-Identifier: Apache-2.0
// A bent sheet with markers, drawn from its formula: the truth that the calibration's tests know.
#pragma once
#include <tbb/parallel_for.h>

#include <Eigen/Geometry>
#include <cmath>
#include <filesystem>
#include <opencv2/aruco/dictionary.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <random>
#include <vector>

#include "capture/camera.h"
#include "proto/mat.pb.h"
#include "tests/photobooth/camera_rig.h"

namespace holdshelf::scene {

/// 4 x 5 positions of 30 mm markers, 10 mm apart, the border ones present, about the origin.
inline Mat borderMat() {
  Mat mat;
  mat.set_name("test mat");
  mat.set_dictionary("DICT_6X6_250");
  for (int row = 0; row < 5; ++row)
    for (int column = 0; column < 4; ++column) {
      if (row > 0 && row < 4 && column > 0 && column < 3) continue;
      Marker* marker = mat.add_markers();
      marker->set_id(10 + 4 * row + column);
      const double x = 40.0 * column - 75, y = 95 - 40.0 * row;
      for (const auto& [dx, dy] : {std::pair(0, 0), {30, 0}, {30, -30}, {0, -30}}) {
        MatPoint* corner = marker->add_corners();
        corner->set_x(x + dx);
        corner->set_y(y + dy);
      }
    }
  return mat;
}

/// The sheet's height over the table, mm: curled up along x, with a wave along y.
struct Sheet {
  double curl_mm = 0, wave_mm = 0;
  double width_mm = 184.9, height_mm = 232.8;  ///< No standard size: 0.88 of A4's width and 0.78.
  double height(double x, double y) const {
    return curl_mm * (x / 75) * (x / 75) + wave_mm * std::sin(y / 40);
  }
  Eigen::Vector3d point(double x, double y) const { return {x, y, height(x, y)}; }
};

/// A phone's camera with barrel distortion, off-centre.
inline CameraModel phone(int width = 960, int height = 720) {
  CameraModel m;
  m.width_px = width, m.height_px = height;
  m.fx_px = 0.85 * width, m.fy_px = 0.851 * width;
  m.cx_px = 0.5 * width + 3, m.cy_px = 0.5 * height - 4;
  m.k1 = 0.08, m.k2 = -0.12, m.p1 = 0.0006, m.p2 = -0.0004;
  return m;
}

/// Looking at `target` from a direction, the camera's x axis turned by roll.
inline Eigen::Isometry3d lookAt(double azimuth_deg, double elevation_deg, double distance_mm,
                                double roll_deg, const Eigen::Vector3d& target) {
  const double a = azimuth_deg * M_PI / 180, e = elevation_deg * M_PI / 180;
  const Eigen::Vector3d eye =
      target + distance_mm * Eigen::Vector3d(std::cos(e) * std::cos(a), std::cos(e) * std::sin(a),
                                             std::sin(e));
  return holdshelf::lookAt(eye, target, roll_deg);
}

/// n cameras all round, wobbling as hands do; all at one elevation unless spread is given.
inline std::vector<Eigen::Isometry3d> ring(int n, double elevation_deg, double spread_deg) {
  std::vector<Eigen::Isometry3d> out;
  for (int i = 0; i < n; ++i)
    out.push_back(lookAt(360.0 * i / n, elevation_deg + spread_deg * std::sin(2.4 * i),
                         330 + 15 * std::sin(1.7 * i), 5 * std::sin(3.1 * i),
                         {8 * std::sin(1.1 * i), 8 * std::cos(1.9 * i), 0}));
  return out;
}

/// Light that the sheet, its markers or the table send back at a point of the sheet.
class Ink {
 public:
  Ink(const Mat& mat, const Sheet& sheet) : sheet_(sheet) {
    const auto dictionary = cv::aruco::getPredefinedDictionary(cv::aruco::DICT_6X6_250);
    for (const auto& marker : mat.markers()) {
      cv::Mat cells;
      dictionary->drawMarker(marker.id(), 8, cells, 1);
      patterns_.push_back(cells);
      origins_.emplace_back(marker.corners(0).x(), marker.corners(0).y());
    }
    side_ = mat.markers(0).corners(1).x() - mat.markers(0).corners(0).x();
  }
  double light(double x, double y) const {
    if (std::abs(x) > sheet_.width_mm / 2 || std::abs(y) > sheet_.height_mm / 2) return 0.25;
    // Most of the sheet is blank, which a look at the 40 mm grid tells.
    const double column = (x + 75) / 40, row = (95 - y) / 40;
    if (column - std::floor(column) > 0.75 || row - std::floor(row) > 0.75) return 0.75;
    if (row >= 1 && row < 4 && column >= 1 && column < 3) return 0.75;
    for (size_t m = 0; m < origins_.size(); ++m) {
      const double u = (x - origins_[m].x()) / side_, v = (origins_[m].y() - y) / side_;
      if (u >= 0 && u < 1 && v >= 0 && v < 1)
        return patterns_[m].at<unsigned char>(int(8 * v), int(8 * u)) ? 0.75 : 0.04;
    }
    return 0.75;
  }

 private:
  const Sheet& sheet_;
  std::vector<cv::Mat> patterns_;
  std::vector<Eigen::Vector2d> origins_;
  double side_ = 0;
};

/// Rays of a camera through its pixel grid: x/z, y/z on an integer grid one wider all round.
inline cv::Mat rayGrid(const CameraModel& camera) {
  cv::Mat rays(camera.height_px + 2, camera.width_px + 2, CV_64FC2);
  for (int y = 0; y < rays.rows; ++y)
    for (int x = 0; x < rays.cols; ++x) {
      const Eigen::Vector3d r = camera.ray(Eigen::Vector2d(x - 1, y - 1));
      rays.at<cv::Vec2d>(y, x) = {r.x(), r.y()};
    }
  return rays;
}

/// The photo: light averaged over 4 x 4 points a pixel, blurred, noisy, through the sRGB curve.
inline cv::Mat photograph(const Mat& mat, const Sheet& sheet,
                          const Eigen::Isometry3d& T_camera_hold, const cv::Mat& rays,
                          double blur_px, unsigned seed) {
  const Ink ink(mat, sheet);
  const Eigen::Isometry3d back = T_camera_hold.inverse();
  const Eigen::Vector3d eye = back.translation();
  cv::Mat linear(rays.rows - 2, rays.cols - 2, CV_32FC1);
  tbb::parallel_for(0, linear.rows, [&](int y) {
    for (int x = 0; x < linear.cols; ++x) {
      double sum = 0;
      for (int s = 0; s < 16; ++s) {
        const double px = x + 1 + (s % 4 - 1.5) / 4, py = y + 1 + (s / 4 - 1.5) / 4;
        const int ix = int(px), iy = int(py);
        const double ax = px - ix, ay = py - iy;
        const cv::Vec2d r = (1 - ay) * ((1 - ax) * rays.at<cv::Vec2d>(iy, ix) +
                                        ax * rays.at<cv::Vec2d>(iy, ix + 1)) +
                            ay * ((1 - ax) * rays.at<cv::Vec2d>(iy + 1, ix) +
                                  ax * rays.at<cv::Vec2d>(iy + 1, ix + 1));
        const Eigen::Vector3d ray = back.linear() * Eigen::Vector3d(r[0], r[1], 1);
        Eigen::Vector3d p = eye - eye.z() / ray.z() * ray;
        for (int i = 0; i < 3; ++i)
          p = eye + (sheet.height(p.x(), p.y()) - eye.z()) / ray.z() * ray;
        sum += ink.light(p.x(), p.y());
      }
      linear.at<float>(y, x) = static_cast<float>(sum / 16);
    }
  });
  cv::GaussianBlur(linear, linear, {}, blur_px);
  std::mt19937 random(seed);
  std::normal_distribution<double> noise(0, 0.004);
  cv::Mat photo(linear.size(), CV_8UC3);
  for (int y = 0; y < linear.rows; ++y)
    for (int x = 0; x < linear.cols; ++x) {
      const double v = std::clamp(linear.at<float>(y, x) + noise(random), 0.0, 1.0);
      const double s = v <= 0.0031308 ? 12.92 * v : 1.055 * std::pow(v, 1 / 2.4) - 0.055;
      photo.at<cv::Vec3b>(y, x) = cv::Vec3b::all(cv::saturate_cast<unsigned char>(255 * s));
    }
  return photo;
}

/// A folder below the system's temporary one that goes away with the test.
struct TemporaryFolder {
  std::filesystem::path path;
  explicit TemporaryFolder(const std::string& name)
      : path(std::filesystem::temp_directory_path() /
             (name + std::to_string(std::random_device{}()))) {
    std::filesystem::create_directories(path);
  }
  ~TemporaryFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path, ignored);
  }
  std::filesystem::path operator/(const std::string& file) const { return path / file; }
};

}  // namespace holdshelf::scene
