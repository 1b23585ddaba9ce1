// SPDX-License-Identifier: Apache-2.0
#include "capture/hold_light.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <cmath>

namespace holdshelf {
namespace {

constexpr int kTop = 254, kNoise = 20;
constexpr double kBurnt = 0.10, kDark = 0.10;

struct Count {
  long all = 0, burnt = 0, dark = 0;
};

Count count(const View& view) {
  Count c;
  for (int y = 0; y < view.mask.rows; y += 2) {
    const auto* mask = view.mask.ptr<std::uint8_t>(y);
    const auto* row = view.bgr.ptr<cv::Vec3b>(y);
    for (int x = 0; x < view.mask.cols; x += 2) {
      if (!mask[x]) continue;
      const int most = std::max({row[x][0], row[x][1], row[x][2]});
      ++c.all;
      c.burnt += most >= kTop;
      c.dark += most < kNoise;
    }
  }
  return c;
}

std::string percent(double share) { return std::to_string(std::lround(100 * share)) + " %"; }

}  // namespace

HoldLight holdLight(const std::vector<View>& views) {
  std::vector<Count> counts(views.size());
  tbb::parallel_for(size_t{0}, views.size(), [&](size_t i) {
    if (!views[i].mask.empty()) counts[i] = count(views[i]);
  });
  Count sum;
  std::vector<double> dark;
  for (const Count& c : counts) {
    if (c.all == 0) continue;
    sum.all += c.all, sum.burnt += c.burnt, sum.dark += c.dark;
    dark.push_back(double(c.dark) / double(c.all));
  }
  if (sum.all == 0) return {};
  std::sort(dark.begin(), dark.end(), std::greater<>());
  const size_t third = std::max<size_t>(1, dark.size() / 3);
  double worst = 0;
  for (size_t i = 0; i < third; ++i) worst += dark[i] / double(third);
  return {double(sum.burnt) / double(sum.all), double(sum.dark) / double(sum.all), worst};
}

std::vector<std::string> lightWarnings(const HoldLight& light) {
  std::vector<std::string> out;
  if (light.burnt > kBurnt)
    out.push_back(percent(light.burnt) +
                  " of the hold is burnt out in the photos and shows no shape there: lower the "
                  "exposure by a step, move lamps that mirror in it, and dust a glossy hold with "
                  "chalk.");
  if (light.dark_third > kDark)
    out.push_back("Deep shadow covers " + percent(light.dark_third) +
                  " of the hold in the darkest third of the photos and hides its shape: light it "
                  "from two sides or under an even sky.");
  return out;
}

}  // namespace holdshelf
