// SPDX-License-Identifier: Apache-2.0
#include "capture/edge_line.h"

#include <doctest/doctest.h>

#include <opencv2/imgproc.hpp>
#include <random>

#include "capture/marker_edges.h"

using namespace holdshelf;
using Eigen::Vector2d;

namespace {

/// Light 0.05 on one side and 0.7 on the other of the line through `on` whose normal has this
/// angle, averaged over the pixel by 8 x 8 parts, each part crossed by the line counting for its
/// share.
cv::Mat step(const Vector2d& on, double angle_rad, double blur_px) {
  cv::Mat image(120, 160, CV_32FC1);
  const Vector2d normal(std::cos(angle_rad), std::sin(angle_rad));
  const double part = normal.cwiseAbs().sum() / 8;
  for (int y = 0; y < image.rows; ++y)
    for (int x = 0; x < image.cols; ++x) {
      double bright = 0;
      for (int s = 0; s < 64; ++s) {
        const Vector2d p(x + (s % 8 - 3.5) / 8, y + (s / 8 - 3.5) / 8);
        bright += std::clamp(normal.dot(p - on) / part + 0.5, 0.0, 1.0) / 64;
      }
      image.at<float>(y, x) = static_cast<float>(0.05 + 0.65 * bright);
    }
  cv::GaussianBlur(image, image, {}, blur_px);
  return image;
}

cv::Mat toSrgb(const cv::Mat& linear) {
  cv::Mat out(linear.size(), CV_8UC3);
  for (int y = 0; y < out.rows; ++y)
    for (int x = 0; x < out.cols; ++x) {
      const double v = linear.at<float>(y, x);
      const double s = v <= 0.0031308 ? 12.92 * v : 1.055 * std::pow(v, 1 / 2.4) - 0.055;
      out.at<cv::Vec3b>(y, x) = cv::Vec3b::all(cv::saturate_cast<unsigned char>(255 * s));
    }
  return out;
}

/// Segment of 60 px on the line, started off by `shift`.
EdgeLine fit(const cv::Mat& image, const Vector2d& on, double angle, double shift) {
  const Vector2d normal(std::cos(angle), std::sin(angle)), along(-normal.y(), normal.x());
  const Vector2d start = on + shift * normal;
  return fitEdge(image, start - 30 * along, start + 30 * along, on + 10 * normal, 6, nullptr);
}

double distance(const EdgeLine& line, const Vector2d& on, double angle, double s) {
  return std::abs(Vector2d(std::cos(angle), std::sin(angle)).dot(line.point(s) - on));
}

}  // namespace

TEST_CASE("fitEdge: a blurred step is found to a fiftieth of a pixel at any angle and start") {
  const Vector2d on(80.3, 59.6);
  for (double angle : {0.0, 0.02, 0.4, 0.785398, 2.0, -2.5})
    for (double blur : {0.6, 1.0, 1.6})
      for (double shift : {-1.5, 0.0, 1.2}) {
        CAPTURE(angle);
        CAPTURE(blur);
        CAPTURE(shift);
        const EdgeLine line = fit(step(on, angle, blur), on, angle, shift);
        REQUIRE(line.valid);
        CHECK(distance(line, on, angle, -25) < 0.02);
        CHECK(distance(line, on, angle, 25) < 0.02);
        // Pixel and bilinear averaging add about 1/12 + 1/6 to the variance.
        CHECK(line.blur_px == doctest::Approx(std::sqrt(blur * blur + 0.25)).epsilon(0.12));
      }
}

TEST_CASE(
    "fitEdge: in sRGB values the edge is pulled to the dark side, in linear light it is not") {
  const Vector2d on(80.3, 59.6);
  const cv::Mat srgb = toSrgb(step(on, 0.3, 1.0));
  cv::Mat plain;
  cv::extractChannel(srgb, plain, 1);
  plain.convertTo(plain, CV_32FC1, 1 / 255.0);
  const EdgeLine honest = fit(linearLight(srgb), on, 0.3, 0);
  const EdgeLine naive = fit(plain, on, 0.3, 0);
  REQUIRE(honest.valid);
  CHECK(distance(honest, on, 0.3, 0) < 0.02);
  CHECK(distance(naive, on, 0.3, 0) > 0.1);
}

TEST_CASE("fitEdge: a bite out of the edge is outvoted, half of it is refused") {
  const Vector2d on(80, 60);
  cv::Mat image = step(on, 0, 0.8);
  image(cv::Rect(60, 50, 40, 10)).setTo(0.3F);
  const EdgeLine line = fit(image, on, 0, 0);
  REQUIRE(line.valid);
  CHECK(distance(line, on, 0, 20) < 0.05);
  image(cv::Rect(60, 45, 40, 40)).setTo(0.3F);
  CHECK_FALSE(fit(image, on, 0, 0).valid);
}

TEST_CASE("fitEdge: no contrast, no reach, out of the picture: not valid") {
  CHECK_FALSE(fit(cv::Mat(120, 160, CV_32FC1, cv::Scalar(0.4)), {80, 60}, 0, 0).valid);
  const cv::Mat image = step({80, 60}, 0, 0.8);
  CHECK_FALSE(fitEdge(image, {80, 30}, {80, 90}, {90, 60}, 1.2, nullptr).valid);
  CHECK_FALSE(fitEdge(image, {80, -90}, {80, -30}, {90, -60}, 5, nullptr).valid);
  // The bright side named wrongly.
  CHECK_FALSE(fitEdge(image, {80, 30}, {80, 90}, {70, 60}, 5, nullptr).valid);
}

TEST_CASE("linearLight: IEC 61966-2-1 values and luminance weights") {
  cv::Mat bgr(1, 4, CV_8UC3);
  bgr.at<cv::Vec3b>(0, 0) = {0, 0, 0};
  bgr.at<cv::Vec3b>(0, 1) = {255, 255, 255};
  bgr.at<cv::Vec3b>(0, 2) = {188, 188,
                             188};        // 0.5028: half light, value of the standard's formula.
  bgr.at<cv::Vec3b>(0, 3) = {0, 0, 255};  // Red's weight, Rec. 709.
  const cv::Mat light = linearLight(bgr);
  CHECK(light.at<float>(0, 0) == 0);
  CHECK(light.at<float>(0, 1) == doctest::Approx(1));
  CHECK(light.at<float>(0, 2) == doctest::Approx(0.5028).epsilon(1e-3));
  CHECK(light.at<float>(0, 3) == doctest::Approx(0.2126));
}
