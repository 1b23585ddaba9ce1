// SPDX-License-Identifier: Apache-2.0
#include "capture/photo_layer.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "capture/colour_model.h"
#include "capture/photo_raster.h"
#include "mesh/bad_input.h"
#include "mesh/srgb.h"

namespace holdshelf {
namespace {

PosedCamera scaledCamera(const PosedCamera& camera, double scale, cv::Size size) {
  PosedCamera out = camera;
  CameraModel& m = out.model;
  m.width_px = size.width;
  m.height_px = size.height;
  m.fx_px *= scale;
  m.fy_px *= scale;
  m.cx_px = (m.cx_px + 0.5) * scale - 0.5;
  m.cy_px = (m.cy_px + 0.5) * scale - 0.5;
  return out;
}

cv::Mat disc(int radius) {
  return cv::getStructuringElement(cv::MORPH_ELLIPSE, {2 * radius + 1, 2 * radius + 1});
}

}  // namespace

cv::Mat grown(const cv::Mat& mask, int radius) {
  cv::Mat out;
  cv::dilate(mask, out, disc(radius));
  return out;
}

cv::Mat shrunk(const cv::Mat& mask, int radius) {
  cv::Mat out;
  cv::erode(mask, out, disc(radius), {-1, -1}, 1, cv::BORDER_CONSTANT, cv::Scalar(255));
  return out;
}

cv::Mat drawnIn(const PosedCamera& camera, const TriangleMesh& mesh) {
  return drawnMask(rasterise(mesh, rasterCamera(camera)));
}

PhotoLight::PhotoLight(const std::vector<View>& views, const std::optional<Mat>& mat,
                       const std::vector<Eigen::Vector3d>& points_H_mm)
    : views_(views) {
  light_.resize(views_.size());
  if (mat) {
    mat_.emplace(*mat, points_H_mm);
    tbb::parallel_for(std::size_t{0}, views_.size(),
                      [&](std::size_t i) { light_[i] = fitPaperLight(views_[i], *mat_); });
    if (std::none_of(light_.begin(), light_.end(), [](const auto& l) { return bool(l); }))
      throw BadInput(
          "The mat's white paper is not seen in any photo; light the mat evenly and keep it in "
          "view.");
    return;
  }
  // No paper: the brightest colours stand for white.
  std::vector<float> bright;
  for (const View& view : views_)
    for (int y = 3; y < view.bgr.rows; y += 7)
      for (int x = 3; x < view.bgr.cols; x += 7)
        bright.push_back(linearFromSrgb(view.bgr.at<cv::Vec3b>(y, x)[1]));
  if (bright.empty())
    throw BadInput(
        "No photo has four rows and four columns of pixels, so that nothing says what is white; "
        "give the photos as the camera took them.");
  auto top = bright.begin() + long(0.98 * double(bright.size()));
  std::nth_element(bright.begin(), top, bright.end());
  white_ = std::max(*top, 0.02f);
}

MatColours PhotoLight::matColours(std::size_t i) const {
  MatColours colours;
  if (light_.size() > i && light_[i]) {
    colours.sigma = float(light_[i]->log_sigma);
    colours.black_log = std::log(float(light_[i]->black) + 0.02f);
  }
  return colours;
}

PhotoLayer PhotoLight::layer(std::size_t i, double scale, const std::optional<cv::Rect>& roi,
                             const cv::Mat& needed) const {
  const View& view = views_[i];
  const cv::Size size(int(std::lround(view.bgr.cols * scale)),
                      int(std::lround(view.bgr.rows * scale)));
  PhotoLayer layer;
  layer.scale = double(size.width) / view.bgr.cols;
  layer.roi = roi ? *roi & cv::Rect({0, 0}, size) : cv::Rect({0, 0}, size);
  layer.camera = scaledCamera(view.camera, layer.scale, size);
  const cv::Rect part = scale < 1 ? cv::Rect({0, 0}, view.bgr.size()) : layer.roi;
  cv::Mat linear(part.size(), CV_32FC3);
  for (int y = 0; y < part.height; ++y)
    for (int x = 0; x < part.width; ++x) {
      const cv::Vec3b& c = view.bgr.at<cv::Vec3b>(y + part.y, x + part.x);
      linear.at<cv::Vec3f>(y, x) = {linearFromSrgb(c[2]), linearFromSrgb(c[1]),
                                    linearFromSrgb(c[0])};
    }
  // Light is averaged before it becomes a feature.
  if (scale < 1) {
    cv::resize(linear, linear, size, 0, 0, cv::INTER_AREA);
    linear = linear(layer.roi);
  }
  fillFeatures(i, linear, needed, layer);
  return layer;
}

void PhotoLight::fillFeatures(std::size_t i, const cv::Mat& linear, const cv::Mat& needed,
                              PhotoLayer& layer) const {
  layer.features = cv::Mat(linear.size(), CV_32FC3, cv::Scalar::all(0));
  layer.ink = cv::Mat(linear.size(), CV_8UC1, cv::Scalar(0));
  const Eigen::Matrix3d R = layer.camera.T_camera_hold.rotation().transpose();
  const Eigen::Vector3d centre = layer.camera.centre_H_mm();
  for (int y = 0; y < linear.rows; ++y)
    for (int x = 0; x < linear.cols; ++x) {
      if (!needed.empty() && !needed.at<std::uint8_t>(y, x)) continue;
      Eigen::Vector3f white = Eigen::Vector3f::Constant(white_);
      MatInk ink = MatInk::None;
      if (mat_) {
        const auto p = mat_->meet(
            centre, R * layer.camera.model.ray(Eigen::Vector2d(x + layer.roi.x, y + layer.roi.y)));
        if (light_[i]) white = light_[i]->white(p ? *p : mat_->middle());
        if (p && light_[i]) ink = mat_->ink(*p);
      }
      const cv::Vec3f& c = linear.at<cv::Vec3f>(y, x);
      const Eigen::Vector3f f =
          colourFeature(Eigen::Vector3f(c[0], c[1], c[2]).cwiseQuotient(white));
      layer.features.at<cv::Vec3f>(y, x) = {f[0], f[1], f[2]};
      layer.ink.at<std::uint8_t>(y, x) = std::uint8_t(ink);
    }
}

}  // namespace holdshelf
