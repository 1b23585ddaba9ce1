// SPDX-License-Identifier: Apache-2.0
#include "capture/outline_cut.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "capture/graph_cut.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr float kMostGain = 6;  // Log likelihood ratios are cut off here.

/// Evenly spread samples of the pixels where `where` is set, at most `most` of them.
void sample(const PhotoLayer& layer, const cv::Mat& where, int most,
            std::vector<Eigen::Vector3f>& out) {
  const int count = cv::countNonZero(where);
  const int step = std::max(1, count / std::max(most, 1));
  int k = 0;
  for (int y = 0; y < where.rows; ++y)
    for (int x = 0; x < where.cols; ++x)
      if (where.at<std::uint8_t>(y, x) && k++ % step == 0) out.push_back(layer.feature(x, y));
}

/// Features in which the mat's own pattern is no edge: where the colour is the ink's, that ink is
/// painted over with paper, so that only the hold's edge draws the cut.
cv::Mat withoutPattern(const PhotoLayer& layer, const MatColours& colours, const cv::Rect& part) {
  cv::Mat out = layer.features(part).clone();
  for (int y = 0; y < part.height; ++y)
    for (int x = 0; x < part.width; ++x) {
      const MatInk ink = layer.inkAt(x + part.x, y + part.y);
      if ((ink == MatInk::Black || ink == MatInk::Edge) &&
          layer.patterned.at<std::uint8_t>(y + part.y, x + part.x) &&
          colours.likely(ink, layer.feature(x + part.x, y + part.y)))
        out.at<cv::Vec3f>(y, x) = {MatColours::kPaper, 0, 0};
    }
  return out;
}

/// Drops crumbs, fills holes that are small or through which no bare mat is seen.
void tidy(cv::Mat& mask, const PhotoLayer& layer) {
  cv::Mat labels, stats, centres;
  int n = cv::connectedComponentsWithStats(mask, labels, stats, centres, 4);
  int largest = 0;
  for (int k = 1; k < n; ++k) largest = std::max(largest, stats.at<int>(k, cv::CC_STAT_AREA));
  for (int k = 1; k < n; ++k)
    if (stats.at<int>(k, cv::CC_STAT_AREA) < 0.03 * largest) mask.setTo(0, labels == k);
  n = cv::connectedComponentsWithStats(mask == 0, labels, stats, centres, 4);
  for (int k = 1; k < n; ++k) {
    const cv::Rect r(stats.at<int>(k, 0), stats.at<int>(k, 1), stats.at<int>(k, 2),
                     stats.at<int>(k, 3));
    if (r.x == 0 || r.y == 0 || r.br().x == mask.cols || r.br().y == mask.rows) continue;
    const cv::Mat hole = labels(r) == k;
    // A bore is too small to tell its shadow from a black cell; a wrong hole would carve a
    // tunnel.
    const int area = stats.at<int>(k, cv::CC_STAT_AREA);
    if (area < 0.02 * largest || cv::countNonZero(hole & layer.bare(r)) < 0.3 * area)
      mask(r).setTo(255, hole);
  }
}

}  // namespace

OutlineCut::OutlineCut(const PhotoLight& light, const BareGround& ground,
                       const std::vector<PhotoLayer>& layers)
    : light_(light), ground_(ground), around_(layers.size()) {
  std::vector<Eigen::Vector3f> hold;
  std::vector<std::vector<Eigen::Vector3f>> outside(layers.size());
  for (std::size_t i = 0; i < layers.size(); ++i) {
    const PhotoLayer& layer = layers[i];
    sample(layer, surelyHold(i, layer), 1500, hold);
    cv::Mat beside = ~grown(layer.limit, 3);
    if (!layer.mask.empty()) beside |= ~grown(layer.mask, 4) & layer.limit;
    beside.setTo(0, layer.ink != int(MatInk::None));
    sample(layer, beside, 6000, outside[i]);
  }
  hold_ = ColourModel::learn(hold, 8);
  if (hold_.empty())
    throw BadInput(
        "The hold could not be told from the mat in the photos; use a mat or light in which the "
        "hold's colour differs from the paper.");
  tbb::parallel_for(std::size_t{0}, layers.size(),
                    [&](std::size_t i) { around_[i] = ColourModel::learn(outside[i], 8); });
}

cv::Mat OutlineCut::surelyHold(std::size_t i, const PhotoLayer& layer) const {
  cv::Mat surely = layer.mask.empty() ? cv::Mat(shrunk(layer.core, 2) & ~grown(layer.bare, 1))
                                      : cv::Mat(shrunk(layer.mask, 2) & layer.limit);
  // Before the first cut, what stands before the sheet is surer than what stands before clutter.
  if (layer.mask.empty() && light_.mat()) surely.setTo(0, layer.ink == int(MatInk::None));
  if (light_.mat())
    leaveOutInk(i, layer, surely);
  else
    leaveOutPlain(layer, surely);
  return surely;
}

double OutlineCut::gainOver(std::size_t i, const PhotoLayer& layer, const cv::Mat& where) const {
  const MatColours colours = light_.matColours(i);
  double sum = 0;
  for (int y = 0; y < where.rows; ++y)
    for (int x = 0; x < where.cols; ++x)
      if (where.at<std::uint8_t>(y, x)) sum += gain(i, colours, layer, x, y);
  return sum;
}

/// Clears the pixels that look like the ink the mat has behind them.
void OutlineCut::leaveOutInk(std::size_t i, const PhotoLayer& layer, cv::Mat& where) const {
  const MatColours colours = light_.matColours(i);
  for (int y = 0; y < where.rows; ++y)
    for (int x = 0; x < where.cols; ++x)
      if (where.at<std::uint8_t>(y, x) && layer.patterned.at<std::uint8_t>(y, x) &&
          colours.likely(layer.inkAt(x, y), layer.feature(x, y)))
        where.at<std::uint8_t>(y, x) = 0;
}

/// Clears the pixels that look like the plain background: gaps between parts of the hold that the
/// outlines do not show yet would teach the background's colours as the hold's.
void OutlineCut::leaveOutPlain(const PhotoLayer& layer, cv::Mat& where) const {
  for (int y = 0; y < where.rows; ++y)
    for (int x = 0; x < where.cols; ++x)
      if (where.at<std::uint8_t>(y, x) && ground_.isPlain(layer.feature(x, y)))
        where.at<std::uint8_t>(y, x) = 0;
}

/// Log likelihood as hold minus as background.
float OutlineCut::gain(std::size_t i, const MatColours& colours, const PhotoLayer& layer, int x,
                       int y) const {
  const MatInk ink = layer.inkAt(x, y);
  const Eigen::Vector3f f = layer.feature(x, y);
  float background = ink == MatInk::None ? around_[i].logDensity(f) : colours.logDensity(ink, f);
  // Dark where the mat is black says little if the mat is not recognised around.
  if (ink != MatInk::None && !layer.patterned.at<std::uint8_t>(y, x)) background -= 3;
  return std::clamp(hold_.logDensity(f) - background, -kMostGain, kMostGain);
}

void OutlineCut::cut(std::size_t i, PhotoLayer& layer) const {
  const cv::Rect part = cv::boundingRect(layer.limit);
  cv::Mat mask(layer.ink.size(), CV_8UC1, cv::Scalar(0));
  if (!part.empty()) {
    cv::Mat known(part.size(), CV_8UC1, cv::Scalar(kFree)), gains(part.size(), CV_32FC1);
    known.setTo(kSurelyBackground, layer.limit(part) == 0);
    // Once there is an outline, what lies deep inside of it and of the hull is settled.
    if (!layer.mask.empty())
      known.setTo(kSurelyForeground, shrunk(layer.mask & layer.core, 14)(part));
    const MatColours colours = light_.matColours(i);
    for (int y = 0; y < part.height; ++y)
      for (int x = 0; x < part.width; ++x)
        if (known.at<std::uint8_t>(y, x) == kFree)
          gains.at<float>(y, x) = gain(i, colours, layer, x + part.x, y + part.y);
    minimalCut(gains, withoutPattern(layer, colours, part), known, 10).copyTo(mask(part));
  }
  tidy(mask, layer);
  layer.mask = mask;
}

cv::Mat OutlineCut::refined(std::size_t i, const PhotoLayer& rough, cv::Size photo) const {
  cv::Mat mask;
  cv::resize(rough.mask, mask, photo, 0, 0, cv::INTER_LINEAR);
  mask = mask >= 128;
  if (rough.scale < 0.999) {
    const int reach = int(std::ceil(1.5 / rough.scale));
    cv::Rect part = cv::boundingRect(mask);
    part = cv::Rect(part.x - 2 * reach, part.y - 2 * reach, part.width + 4 * reach,
                    part.height + 4 * reach) &
           cv::Rect({0, 0}, photo);
    cv::Mat known(part.size(), CV_8UC1, cv::Scalar(kFree));
    known.setTo(kSurelyForeground, shrunk(mask(part), reach));
    known.setTo(kSurelyBackground, grown(mask(part), reach) == 0);
    PhotoLayer fine = light_.layer(i, 1, part, grown(known == kFree, 1));
    if (light_.mat()) {
      cv::Mat patterned;
      cv::resize(rough.patterned, patterned, photo, 0, 0, cv::INTER_NEAREST);
      fine.patterned = patterned(part);
    }
    cv::Mat gains(part.size(), CV_32FC1, cv::Scalar(0));
    const MatColours colours = light_.matColours(i);
    for (int y = 0; y < part.height; ++y)
      for (int x = 0; x < part.width; ++x)
        if (known.at<std::uint8_t>(y, x) == kFree)
          gains.at<float>(y, x) = gain(i, colours, fine, x, y);
    const cv::Rect all({0, 0}, part.size());
    minimalCut(gains, withoutPattern(fine, colours, all), known, 10).copyTo(mask(part));
  }
  return mask;
}

}  // namespace holdshelf
