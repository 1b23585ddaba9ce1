// SPDX-License-Identifier: Apache-2.0
#include "tests/photobooth/sensor.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "tests/photobooth/noise.h"

namespace holdshelf {
namespace {

float toneCurve(float linear) {
  return linear <= 0.0031308f ? 12.92f * linear : 1.055f * std::pow(linear, 1 / 2.4f) - 0.055f;
}

}  // namespace

cv::Mat develop(const cv::Mat& linear_bgr, const SensorOptions& options) {
  cv::Mat light;
  if (options.blur_px > 0)
    cv::GaussianBlur(linear_bgr, light, {}, options.blur_px, options.blur_px, cv::BORDER_REPLICATE);
  else
    light = linear_bgr;
  const double gain[3] = {options.exposure * options.white_balance_b, options.exposure,
                          options.exposure * options.white_balance_r};
  cv::Mat out(light.size(), CV_8UC3);
  tbb::parallel_for(0, light.rows, [&](int y) {
    Random random(mix(options.seed) ^ static_cast<std::uint32_t>(y) * 0x9e3779b1u);
    for (int x = 0; x < light.cols; ++x)
      for (int c = 0; c < 3; ++c) {
        double v = gain[c] * light.at<cv::Vec3f>(y, x)[c];
        v += random.normal() * std::hypot(options.read_noise, std::sqrt(v / options.full_well));
        const float toned = toneCurve(static_cast<float>(std::clamp(v, 0.0, 1.0)));
        out.at<cv::Vec3b>(y, x)[c] = static_cast<std::uint8_t>(std::lround(255 * toned));
      }
  });
  return out;
}

}  // namespace holdshelf
