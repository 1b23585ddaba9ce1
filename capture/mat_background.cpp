// SPDX-License-Identifier: Apache-2.0
#include "capture/mat_background.h"

#include <Eigen/Cholesky>
#include <algorithm>
#include <array>
#include <cmath>
#include <opencv2/aruco.hpp>
#include <opencv2/imgproc.hpp>

#include "capture/mat_file.h"
#include "mesh/srgb.h"

namespace holdshelf {
namespace {

constexpr double kInkPerMm = 3;        // Resolution of the pattern.
constexpr double kHeightCell_mm = 10;  // Of the paper's height.
constexpr double kPaperMargin_mm = 3;  // Paper that surely surrounds the markers.
constexpr double kBlur_mm = 1.2;       // Reach of blur and misplacement round a change of ink.

/// One marker's picture with its border, drawn at 8 pixels a cell, then laid on its four corners.
void drawMarker(const cv::Ptr<cv::aruco::Dictionary>& dictionary, int id,
                const Eigen::Vector3d* corners, const Eigen::Vector2d& low, cv::Mat& canvas) {
  const int side = 8 * (dictionary->markerSize + 2);
  cv::Mat picture;
  cv::aruco::drawMarker(dictionary, id, side, picture, 1);
  const float s = float(side) - 0.5f, o = -0.5f;
  const cv::Point2f from[4] = {{o, o}, {s, o}, {s, s}, {o, s}};
  cv::Point2f to[4];
  for (int c = 0; c < 4; ++c)
    to[c] = {float((corners[c].x() - low.x()) * kInkPerMm),
             float((corners[c].y() - low.y()) * kInkPerMm)};
  cv::warpPerspective(picture, canvas, cv::getPerspectiveTransform(from, to), canvas.size(),
                      cv::INTER_NEAREST, cv::BORDER_TRANSPARENT);
}

/// Splits the drawn pattern into white, black and what is near a change.
cv::Mat classify(const cv::Mat& pattern) {
  const int reach = int(std::lround(kBlur_mm * kInkPerMm));
  const cv::Mat kernel =
      cv::getStructuringElement(cv::MORPH_ELLIPSE, {2 * reach + 1, 2 * reach + 1});
  cv::Mat darkest, brightest;
  cv::erode(pattern, darkest, kernel);
  cv::dilate(pattern, brightest, kernel);
  cv::Mat ink(pattern.size(), CV_8UC1, cv::Scalar(int(MatInk::Edge)));
  ink.setTo(int(MatInk::White), darkest > 200);
  ink.setTo(int(MatInk::Black), brightest < 55);
  return ink;
}

Eigen::Matrix<double, 6, 1> quadratic(const Eigen::Vector2d& p) {
  Eigen::Matrix<double, 6, 1> q;
  q << 1, p.x(), p.y(), p.x() * p.x(), p.x() * p.y(), p.y() * p.y();
  return q;
}

struct PaperSample {
  Eigen::Matrix<double, 6, 1> basis;
  Eigen::Vector3d log_rgb;
};

double median(std::vector<double> values) {
  std::nth_element(values.begin(), values.begin() + long(values.size() / 2), values.end());
  return values[values.size() / 2];
}

/// Robust least squares of the light. Samples much darker than the fit are shadow or hold.
void fitLight(const std::vector<PaperSample>& samples, PaperLight& light) {
  std::vector<double> brightness;
  for (const auto& s : samples) brightness.push_back(s.log_rgb.mean());
  std::nth_element(brightness.begin(), brightness.begin() + long(brightness.size() * 7 / 10),
                   brightness.end());
  light.log_white.setZero();
  light.log_white.row(0).setConstant(brightness[brightness.size() * 7 / 10]);
  double window = 0.5;
  for (int round = 0; round < 8; ++round) {
    Eigen::Matrix<double, 6, 6> A = Eigen::Matrix<double, 6, 6>::Identity() * 1e-3;
    Eigen::Matrix<double, 6, 3> b = Eigen::Matrix<double, 6, 3>::Zero();
    std::vector<double> near;
    for (const auto& s : samples) {
      const double off = (s.log_rgb.transpose() - s.basis.transpose() * light.log_white).mean();
      if (std::abs(off) > window) continue;
      near.push_back(std::abs(off));
      const double t = off / window;
      const double w = (1 - t * t) * (1 - t * t) * (off < 0 ? 0.7 : 1);
      A += w * s.basis * s.basis.transpose();
      b += w * s.basis * s.log_rgb.transpose();
    }
    if (near.size() < 50) break;
    light.log_white = A.ldlt().solve(b);
    const double sigma = 1.4826 * median(near);
    light.log_sigma = std::clamp(sigma, 0.008, 0.08);
    window = std::clamp(0.7 * window, std::max(4 * light.log_sigma, 0.08), 0.5);
  }
}

}  // namespace

MatBackground::MatBackground(const Mat& mat, const std::vector<Eigen::Vector3d>& points) {
  low_ = high_ = points.front().head<2>();
  for (const auto& p : points) {
    low_ = low_.cwiseMin(p.head<2>());
    high_ = high_.cwiseMax(p.head<2>());
  }
  low_.array() -= kPaperMargin_mm;
  high_.array() += kPaperMargin_mm;

  const Eigen::Vector2d size = high_ - low_;
  cv::Mat pattern(int(std::ceil(size.y() * kInkPerMm)) + 1,
                  int(std::ceil(size.x() * kInkPerMm)) + 1, CV_8UC1, cv::Scalar(255));
  const auto dictionary = cv::aruco::getPredefinedDictionary(dictionaryNumber(mat.dictionary()));
  for (int m = 0; m < mat.markers_size(); ++m)
    drawMarker(dictionary, mat.markers(m).id(), &points[std::size_t(4 * m)], low_, pattern);
  ink_ = classify(pattern);

  // Heights between the corners: inverse distance weights, flattened far from any corner, where
  // the hold presses the paper on the plane.
  height_.create(int(size.y() / kHeightCell_mm) + 2, int(size.x() / kHeightCell_mm) + 2, CV_32FC1);
  for (int y = 0; y < height_.rows; ++y)
    for (int x = 0; x < height_.cols; ++x) {
      const Eigen::Vector2d at = low_ + kHeightCell_mm * Eigen::Vector2d(x, y);
      double sum = 0, weights = 1.0 / (40 * 40 * 40.0);
      for (const auto& p : points) {
        const double d = std::max((p.head<2>() - at).norm(), 1.0), w = 1 / (d * d * d);
        sum += w * p.z();
        weights += w;
      }
      height_.at<float>(y, x) = float(sum / weights);
    }
}

double MatBackground::height(const Eigen::Vector2d& point) const {
  const Eigen::Vector2d g = (point - low_) / kHeightCell_mm;
  const double x = std::clamp(g.x(), 0.0, height_.cols - 1.001),
               y = std::clamp(g.y(), 0.0, height_.rows - 1.001);
  const int xi = int(x), yi = int(y);
  const double fx = x - xi, fy = y - yi;
  const float *a = height_.ptr<float>(yi) + xi, *b = height_.ptr<float>(yi + 1) + xi;
  return (a[0] * (1 - fx) + a[1] * fx) * (1 - fy) + (b[0] * (1 - fx) + b[1] * fx) * fy;
}

std::optional<Eigen::Vector2d> MatBackground::meet(const Eigen::Vector3d& centre,
                                                   const Eigen::Vector3d& direction) const {
  if (!(direction.z() < -0.02 * direction.norm())) return std::nullopt;
  const auto at = [&](double z) -> Eigen::Vector2d {
    return (centre + direction * ((z - centre.z()) / direction.z())).head<2>();
  };
  Eigen::Vector2d p = at(0);
  // Far outside the sheet its height means nothing.
  if ((p - middle()).norm() > 3 * halfSize()) return p;
  for (int i = 0; i < 3; ++i) p = at(height(p));
  return p;
}

MatInk MatBackground::ink(const Eigen::Vector2d& point) const {
  const Eigen::Vector2d g = (point - low_) * kInkPerMm;
  const int x = int(std::lround(g.x())), y = int(std::lround(g.y()));
  if (x < 0 || y < 0 || x >= ink_.cols || y >= ink_.rows) return MatInk::None;
  return MatInk(ink_.at<std::uint8_t>(y, x));
}

Eigen::Vector3f PaperLight::white(const Eigen::Vector2d& point) const {
  const Eigen::Vector2d p = ((point - middle) / half_size).cwiseMax(-1).cwiseMin(1);
  return (log_white.transpose() * quadratic(p)).array().exp().matrix().cast<float>();
}

std::optional<PaperLight> fitPaperLight(const View& view, const MatBackground& mat) {
  const CameraModel& m = view.camera.model;
  const Eigen::Matrix3d R_hold_camera = view.camera.T_camera_hold.rotation().transpose();
  const Eigen::Vector3d centre = view.camera.centre_H_mm();
  const int step = std::max(1, int(std::sqrt(double(view.bgr.total()) / 60000)));
  PaperLight light;
  light.middle = mat.middle();
  light.half_size = mat.halfSize();
  std::vector<PaperSample> samples;
  std::vector<std::pair<Eigen::Vector2d, Eigen::Vector3d>> blacks;
  for (int y = step / 2; y < view.bgr.rows; y += step)
    for (int x = step / 2; x < view.bgr.cols; x += step) {
      const auto p = mat.meet(centre, R_hold_camera * m.ray(Eigen::Vector2d(x, y)));
      if (!p) continue;
      const MatInk ink = mat.ink(*p);
      if (ink != MatInk::White && ink != MatInk::Black) continue;
      const cv::Vec3b& c = view.bgr.at<cv::Vec3b>(y, x);
      const Eigen::Vector3d rgb(linearFromSrgb(c[2]), linearFromSrgb(c[1]), linearFromSrgb(c[0]));
      if (ink == MatInk::White)
        samples.push_back({quadratic((*p - light.middle) / light.half_size),
                           (rgb.array() + 1e-3).log().matrix()});
      else
        blacks.push_back({*p, rgb});
    }
  if (samples.size() < 300) return std::nullopt;
  fitLight(samples, light);
  std::vector<double> ratios;
  for (const auto& [p, rgb] : blacks) ratios.push_back(rgb.mean() / double(light.white(p).mean()));
  if (ratios.size() > 30) light.black = std::clamp(median(ratios), 0.01, 0.5);
  return light;
}

}  // namespace holdshelf
