// SPDX-License-Identifier: Apache-2.0
#include "capture/bare_ground.h"

#include <algorithm>
#include <functional>
#include <opencv2/imgproc.hpp>

namespace holdshelf {
namespace {

/// A black hold fits black ink and a white one paper: the mat is recognised only where its other
/// ink fits as well in the neighbourhood. Paper far from any ink needs no such witness.
void findPattern(const cv::Mat& fits, PhotoLayer& layer) {
  constexpr int kNear = 31;
  const auto near = [&](const cv::Mat& m) {
    cv::Mat out;
    cv::boxFilter(m, out, CV_32F, {kNear, kNear}, {-1, -1}, false);
    return out;
  };
  cv::Mat white, black;
  cv::Mat(layer.ink == int(MatInk::White)).convertTo(white, CV_32F, 1 / 255.0);
  cv::Mat(layer.ink == int(MatInk::Black)).convertTo(black, CV_32F, 1 / 255.0);
  const cv::Mat whites = near(white), blacks = near(black);
  const cv::Mat white_fits = near(white.mul(fits)), black_fits = near(black.mul(fits));
  const cv::Mat by_white = (white_fits >= 0.35f * whites) & (whites >= 8);
  const cv::Mat by_black = (black_fits >= 0.35f * blacks) | (blacks < 8);
  layer.patterned = by_white & by_black;
  by_black.copyTo(layer.patterned, layer.ink == int(MatInk::White));
  layer.patterned.setTo(0, layer.ink == int(MatInk::None));
}

}  // namespace

BareGround::BareGround(const PhotoLight& light, const std::vector<PhotoLayer>& layers)
    : light_(light) {
  if (!light.mat()) learnPlain(layers);
}

/// The frame's border shows the background.
void BareGround::learnPlain(const std::vector<PhotoLayer>& layers) {
  std::vector<Eigen::Vector3f> samples;
  for (const PhotoLayer& layer : layers) {
    const int w = layer.features.cols, h = layer.features.rows, border = std::max(4, w / 40);
    for (int y = 0; y < h; y += 2)
      for (int x = 0; x < w; x += 2)
        if (x < border || y < border || x >= w - border || y >= h - border)
          samples.push_back(layer.feature(x, y));
  }
  // The hold may run into the frame here and there: the commonest colours are the background,
  // and a stand or a seam that few photos show at their border is part of it.
  ColourModel all = ColourModel::learn(samples, 6);
  std::vector<std::pair<float, std::size_t>> order;
  for (std::size_t k = 0; k < samples.size(); ++k) order.push_back({all.logDensity(samples[k]), k});
  std::sort(order.begin(), order.end(), std::greater<>());
  std::vector<Eigen::Vector3f> common;
  for (std::size_t k = 0; k < order.size() * 97 / 100; ++k)
    common.push_back(samples[order[k].second]);
  plain_ = ColourModel::learn(common, 4);
  std::vector<float> densities;
  for (const Eigen::Vector3f& f : common) densities.push_back(plain_.logDensity(f));
  const auto least = densities.begin() + long(densities.size() / 100);
  std::nth_element(densities.begin(), least, densities.end());
  plain_least_ = *least;
}

void BareGround::mark(std::size_t i, PhotoLayer& layer) const {
  const MatColours colours = light_.matColours(i);
  const bool on_mat = light_.mat().has_value();
  cv::Mat fits(layer.ink.size(), CV_32FC1, cv::Scalar(0)),
      counts(layer.ink.size(), CV_32FC1, cv::Scalar(0));
  for (int y = 0; y < layer.ink.rows; ++y)
    for (int x = 0; x < layer.ink.cols; ++x) {
      const MatInk ink = layer.inkAt(x, y);
      const Eigen::Vector3f f = layer.feature(x, y);
      if (on_mat && ink != MatInk::White && ink != MatInk::Black) continue;
      counts.at<float>(y, x) = 1;
      fits.at<float>(y, x) = on_mat ? colours.bare(ink, f) : isPlain(f);
    }
  cv::Mat fits_near, counts_near;
  cv::boxFilter(fits, fits_near, CV_32F, {5, 5}, {-1, -1}, false);
  cv::boxFilter(counts, counts_near, CV_32F, {5, 5}, {-1, -1}, false);
  layer.bare =
      (fits_near >= 0.8f * counts_near) & (counts_near >= 6) & ((fits > 0) | (counts == 0));
  if (!on_mat) return;
  layer.bare.setTo(0, layer.ink == int(MatInk::None));
  // Paper in shadow is paper still.
  for (int y = 0; y < fits.rows; ++y)
    for (int x = 0; x < fits.cols; ++x)
      if (layer.inkAt(x, y) == MatInk::White)
        fits.at<float>(y, x) = colours.shadedPaper(layer.feature(x, y));
  findPattern(fits, layer);
}

bool holdLooksLikeInk(const PhotoLight& light, const std::vector<PhotoLayer>& layers) {
  long black = 0, all = 0;
  for (std::size_t i = 0; i < layers.size(); ++i) {
    const PhotoLayer& layer = layers[i];
    const MatColours colours = light.matColours(i);
    for (int y = 0; y < layer.ink.rows; ++y)
      for (int x = 0; x < layer.ink.cols; ++x) {
        if (!layer.core.at<std::uint8_t>(y, x) || layer.inkAt(x, y) != MatInk::White) continue;
        if (MatColours::shadedPaper(layer.feature(x, y))) continue;
        ++all;
        black += colours.bare(MatInk::Black, layer.feature(x, y));
      }
  }
  return black > 0.5 * double(all);
}

}  // namespace holdshelf
