// SPDX-License-Identifier: Apache-2.0
#include "tests/photobooth/sensor.h"

#include <doctest/doctest.h>

#include <cmath>

using namespace holdshelf;

namespace {

SensorOptions quiet() {
  SensorOptions o;
  o.blur_px = 0;
  o.read_noise = 0;
  o.full_well = 1e12;
  return o;
}

int developed(float linear, const SensorOptions& o) {
  return develop(cv::Mat(4, 4, CV_32FC3, cv::Scalar::all(linear)), o).at<cv::Vec3b>(2, 2)[1];
}

}  // namespace

// Published sRGB pairs: 0.5 linear is 188, 0.2140 is 127.5 (half), 0.0031308 is the knee at 10.
TEST_CASE("develop: the tone curve is sRGB's") {
  CHECK(developed(0, quiet()) == 0);
  CHECK(developed(0.0031308f, quiet()) == 10);
  CHECK(std::abs(developed(0.2140f, quiet()) - 127.5) < 0.6);
  CHECK(developed(0.5f, quiet()) == 188);
  CHECK(developed(1, quiet()) == 255);
  CHECK(developed(7, quiet()) == 255);
}

TEST_CASE("develop: blur acts on light, before the tone curve") {
  cv::Mat light(41, 41, CV_32FC3, cv::Scalar::all(0));
  light.colRange(20, 41) = cv::Scalar::all(1);
  SensorOptions o = quiet();
  o.blur_px = 2;
  const cv::Mat out = develop(light, o);
  // The step's middle lies between columns 19 and 20, which straddle half the light.
  const double a = out.at<cv::Vec3b>(20, 19)[0], b = out.at<cv::Vec3b>(20, 20)[0];
  CHECK(a > 127.5);  // In light that is 0.40; averaging after the curve would give 102.
  CHECK(b > 188);
}

TEST_CASE("develop: shot noise has the variance of counted electrons") {
  SensorOptions o = quiet();
  o.full_well = 1000;
  const double level = 0.3;
  cv::Mat light(300, 300, CV_32FC3, cv::Scalar::all(level));
  const cv::Mat out = develop(light, o);
  double sum = 0, sum2 = 0;
  int n = 0;
  for (int y = 0; y < out.rows; ++y)
    for (int x = 0; x < out.cols; ++x, ++n) {
      const double v = out.at<cv::Vec3b>(y, x)[2] / 255.0;
      const double linear = std::pow((v + 0.055) / 1.055, 2.4);
      sum += linear;
      sum2 += linear * linear;
    }
  const double mean = sum / n, variance = sum2 / n - mean * mean;
  CHECK(mean == doctest::Approx(level).epsilon(0.005));
  CHECK(variance == doctest::Approx(level / 1000).epsilon(0.05));
}
