// SPDX-License-Identifier: Apache-2.0
#include "capture/hold_light.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "capture/mat_background.h"
#include "mesh/srgb.h"

namespace holdshelf {
namespace {

constexpr int kTop = 254;
constexpr double kBurnt = 0.03, kShadowed = 0.06;

/// Pixels of the hold by their brightest channel.
using Histogram = std::array<long, 256>;

Histogram histogram(const View& view) {
  Histogram counts{};
  for (int y = 0; y < view.mask.rows; y += 2) {
    const auto* mask = view.mask.ptr<std::uint8_t>(y);
    const auto* row = view.bgr.ptr<cv::Vec3b>(y);
    for (int x = 0; x < view.mask.cols; x += 2)
      if (mask[x]) ++counts[std::max({row[x][0], row[x][1], row[x][2]})];
  }
  return counts;
}

long countOf(const Histogram& counts) {
  long all = 0;
  for (long n : counts) all += n;
  return all;
}

/// Share below a quarter of the median, both in linear light.
double shadowedShare(const Histogram& counts) {
  const long all = countOf(counts);
  int median = 0;
  for (long below = counts[0]; 2 * below < all; below += counts[size_t(median)]) ++median;
  const float limit = linearFromSrgb(std::uint8_t(median)) / 4;
  long dark = 0;
  for (int v = 0; v < median && linearFromSrgb(std::uint8_t(v)) < limit; ++v)
    dark += counts[size_t(v)];
  return double(dark) / double(all);
}

std::string percent(double share) { return std::to_string(std::lround(100 * share)) + " %"; }

}  // namespace

HoldLight holdLight(const std::vector<View>& views) {
  std::vector<Histogram> counts(views.size(), Histogram{});
  tbb::parallel_for(size_t{0}, views.size(), [&](size_t i) {
    if (!views[i].mask.empty()) counts[i] = histogram(views[i]);
  });
  long all = 0, burnt = 0;
  std::vector<double> shadowed;
  for (const Histogram& c : counts) {
    const long n = countOf(c);
    if (n == 0) continue;
    all += n;
    for (size_t v = kTop; v < c.size(); ++v) burnt += c[v];
    shadowed.push_back(shadowedShare(c));
  }
  if (all == 0) return {};
  std::sort(shadowed.begin(), shadowed.end(), std::greater<>());
  const size_t third = std::max<size_t>(1, shadowed.size() / 3);
  double sum = 0;
  for (size_t i = 0; i < third; ++i) sum += shadowed[i];
  return {double(burnt) / double(all), sum / double(third)};
}

std::vector<std::string> lightWarnings(const HoldLight& light) {
  std::vector<std::string> out;
  if (light.burnt > kBurnt)
    out.push_back(percent(light.burnt) +
                  " of the hold is burnt out in the photos and shows no shape there: lower the "
                  "exposure by a step, move lamps that mirror in it, and dust a glossy hold with "
                  "chalk.");
  if (light.shadowed > kShadowed)
    out.push_back("Deep shadow lies on " + percent(light.shadowed) +
                  " of the hold in a third of the photos and hides its shape: light it from two "
                  "sides or under an even sky.");
  return out;
}

}  // namespace holdshelf
