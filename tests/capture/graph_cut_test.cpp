// SPDX-License-Identifier: Apache-2.0
#include "capture/graph_cut.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>
#include <vector>

using namespace holdshelf;

namespace {

constexpr int kSteps[4][2] = {{1, 0}, {0, 1}, {1, 1}, {-1, 1}};

float difference(const cv::Mat& features, cv::Point a, cv::Point b) {
  const cv::Vec3f d = features.at<cv::Vec3f>(a) - features.at<cv::Vec3f>(b);
  return d[0] * d[0] + 4 * (d[1] * d[1] + d[2] * d[2]);
}

/// Calls visit(a, b, share) for all neighbours.
template <class Visit>
void eachPair(cv::Size size, const Visit& visit) {
  for (int y = 0; y < size.height; ++y)
    for (int x = 0; x < size.width; ++x)
      for (const auto& s : kSteps) {
        const cv::Point b(x + s[0], y + s[1]);
        if (b.x < 0 || b.x >= size.width || b.y >= size.height) continue;
        visit(cv::Point(x, y), b, s[0] != 0 && s[1] != 0 ? std::sqrt(0.5f) : 1.f);
      }
}

/// The cost of a labelling, written down from the definition.
double cost(const cv::Mat& gain, const cv::Mat& features, const cv::Mat& mask, float smoothness) {
  double sum_d = 0, pairs = 0;
  eachPair(gain.size(), [&](cv::Point a, cv::Point b, float) {
    sum_d += double(difference(features, a, b));
    ++pairs;
  });
  const double beta = pairs / (2 * sum_d);
  double total = 0;
  for (int i = 0; i < int(gain.total()); ++i)
    if (!mask.at<std::uint8_t>(i / gain.cols, i % gain.cols))
      total += double(gain.at<float>(i / gain.cols, i % gain.cols));
  eachPair(gain.size(), [&](cv::Point a, cv::Point b, float share) {
    if (mask.at<std::uint8_t>(a) != mask.at<std::uint8_t>(b))
      total += double(smoothness * share) * std::exp(-beta * double(difference(features, a, b)));
  });
  return total;
}

}  // namespace

TEST_CASE("minimalCut: no labelling of a small picture costs less") {  // All 4096 are tried.
  std::mt19937 rng(7);
  std::normal_distribution<float> normal;
  for (int round = 0; round < 10; ++round) {
    CAPTURE(round);
    cv::Mat gain(3, 4, CV_32FC1), features(3, 4, CV_32FC3);
    for (int y = 0; y < 3; ++y)
      for (int x = 0; x < 4; ++x) {
        gain.at<float>(y, x) = 2 * normal(rng);
        features.at<cv::Vec3f>(y, x) = {normal(rng), normal(rng) / 2, normal(rng) / 2};
      }
    const cv::Mat known(3, 4, CV_8UC1, cv::Scalar(kFree));
    const float smoothness = 2;
    const cv::Mat mask = minimalCut(gain, features, known, smoothness);
    double least = 1e9;
    for (int bits = 0; bits < 4096; ++bits) {
      cv::Mat other(3, 4, CV_8UC1);
      for (int i = 0; i < 12; ++i) other.at<std::uint8_t>(i / 4, i % 4) = bits >> i & 1 ? 255 : 0;
      least = std::min(least, cost(gain, features, other, smoothness));
    }
    CHECK(std::abs(cost(gain, features, mask, smoothness) - least) < 1e-3);
  }
}

TEST_CASE("minimalCut: what is known stays, and pulls its like along") {
  cv::Mat gain(1, 6, CV_32FC1, cv::Scalar(0)), features(1, 6, CV_32FC3, cv::Scalar(0, 0, 0));
  for (int x = 4; x < 6; ++x) features.at<cv::Vec3f>(0, x) = {1, 0, 0};  // An edge before x = 4.
  cv::Mat known(1, 6, CV_8UC1, cv::Scalar(kFree));
  known.at<std::uint8_t>(0, 0) = kSurelyForeground;
  known.at<std::uint8_t>(0, 5) = kSurelyBackground;
  const cv::Mat mask = minimalCut(gain, features, known, 5);
  for (int x = 0; x < 6; ++x) CHECK((mask.at<std::uint8_t>(0, x) == 255) == (x < 4));
}
