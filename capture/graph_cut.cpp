// SPDX-License-Identifier: Apache-2.0
#include "capture/graph_cut.h"

#include <algorithm>
#include <cmath>
#include <opencv2/core.hpp>
#include <opencv2/imgproc/detail/gcgraph.hpp>

namespace holdshelf {
namespace {

struct Step {
  int dx, dy;
  float share;  // Of the smoothness: diagonal neighbours meet less.
};
constexpr Step kSteps[4] = {{1, 0, 1.f}, {0, 1, 1.f}, {1, 1, 0.7071f}, {-1, 1, 0.7071f}};

float difference(const cv::Mat& features, int x, int y, const Step& s) {
  const cv::Vec3f d = features.at<cv::Vec3f>(y, x) - features.at<cv::Vec3f>(y + s.dy, x + s.dx);
  // Hue steps count more than steps of light.
  return d[0] * d[0] + 4 * (d[1] * d[1] + d[2] * d[2]);
}

bool inside(const cv::Mat& m, int x, int y) { return x >= 0 && y >= 0 && x < m.cols && y < m.rows; }

/// 1 / (2 mean difference) over the pairs that touch a free pixel.
float contrastScale(const cv::Mat& features, const cv::Mat& known) {
  double sum = 0;
  long n = 0;
  for (int y = 0; y < features.rows; ++y)
    for (int x = 0; x < features.cols; ++x) {
      if (known.at<std::uint8_t>(y, x) != kFree) continue;
      for (const Step& s : kSteps)
        if (inside(features, x + s.dx, y + s.dy)) {
          sum += double(difference(features, x, y, s));
          ++n;
        }
    }
  return n > 0 && sum > 0 ? float(double(n) / (2 * sum)) : 0.f;
}

}  // namespace

cv::Mat minimalCut(const cv::Mat& gain, const cv::Mat& features, const cv::Mat& known,
                   float smoothness) {
  cv::Mat node(known.size(), CV_32SC1, cv::Scalar(-1));
  int count = 0;
  for (int y = 0; y < known.rows; ++y)
    for (int x = 0; x < known.cols; ++x)
      if (known.at<std::uint8_t>(y, x) == kFree) node.at<int>(y, x) = count++;

  cv::detail::GCGraph<float> graph;
  graph.create(unsigned(count) + 1, unsigned(count) * 8 + 1);
  for (int i = 0; i < count; ++i) graph.addVtx();
  const float beta = contrastScale(features, known);
  // Ties to known neighbours, collected before the terminal weights are set.
  cv::Mat tie(known.size(), CV_32FC1, cv::Scalar(0));
  for (int y = 0; y < known.rows; ++y)
    for (int x = 0; x < known.cols; ++x)
      for (const Step& s : kSteps) {
        const int nx = x + s.dx, ny = y + s.dy;
        if (!inside(known, nx, ny)) continue;
        const int a = node.at<int>(y, x), b = node.at<int>(ny, nx);
        if (a < 0 && b < 0) continue;
        const float w = smoothness * s.share * std::exp(-beta * difference(features, x, y, s));
        if (a >= 0 && b >= 0)
          graph.addEdges(a, b, w, w);
        else if (a >= 0)
          tie.at<float>(y, x) += known.at<std::uint8_t>(ny, nx) == kSurelyForeground ? w : -w;
        else
          tie.at<float>(ny, nx) += known.at<std::uint8_t>(y, x) == kSurelyForeground ? w : -w;
      }
  for (int y = 0; y < known.rows; ++y)
    for (int x = 0; x < known.cols; ++x) {
      const int i = node.at<int>(y, x);
      if (i < 0) continue;
      const float g = gain.at<float>(y, x) + tie.at<float>(y, x);
      graph.addTermWeights(i, std::max(g, 0.f), std::max(-g, 0.f));
    }
  if (count > 0) graph.maxFlow();
  cv::Mat mask(known.size(), CV_8UC1, cv::Scalar(0));
  for (int y = 0; y < known.rows; ++y)
    for (int x = 0; x < known.cols; ++x) {
      const int i = node.at<int>(y, x);
      const bool fg =
          i >= 0 ? graph.inSourceSegment(i) : known.at<std::uint8_t>(y, x) == kSurelyForeground;
      if (fg) mask.at<std::uint8_t>(y, x) = 255;
    }
  return mask;
}

}  // namespace holdshelf
