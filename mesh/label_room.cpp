// SPDX-License-Identifier: Apache-2.0
#include "mesh/label_room.h"

#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

namespace holdshelf {
namespace {

/// Chessboard distance of each pixel of a patch's box to the patch's border, 0 outside of it.
struct Reach {
  int x0 = 0, y0 = 0;  ///< Of the map, at the box's (1, 1): the box has a rim of one pixel.
  int width = 0, height = 0;
  std::vector<int> steps;

  int at(int x, int y) const { return steps[static_cast<std::size_t>(y * width + x)]; }
};

Reach reachIn(const SlopeBands& map, const BandPatch& patch) {
  int x0 = map.width_px, x1 = 0, y0 = map.height_px, y1 = 0;
  for (std::size_t i : patch.pixels) {
    const int x = static_cast<int>(i % static_cast<std::size_t>(map.width_px));
    const int y = static_cast<int>(i / static_cast<std::size_t>(map.width_px));
    x0 = std::min(x0, x), x1 = std::max(x1, x), y0 = std::min(y0, y), y1 = std::max(y1, y);
  }
  const int w = x1 - x0 + 3, h = y1 - y0 + 3;
  Reach out{x0, y0, w, h, std::vector<int>(static_cast<std::size_t>(w * h), 0)};
  std::vector<int>& reach = out.steps;
  for (std::size_t i : patch.pixels) {
    const int x = static_cast<int>(i % static_cast<std::size_t>(map.width_px)) - x0 + 1;
    const int y = static_cast<int>(i / static_cast<std::size_t>(map.width_px)) - y0 + 1;
    reach[static_cast<std::size_t>(y * w + x)] = w + h;
  }
  const auto sweep = [&](int y, int x, int sign) {
    int& r = reach[static_cast<std::size_t>(y * w + x)];
    if (r == 0) return;
    for (const auto& [dx, dy] : {std::pair{-1, 0}, {0, -1}, {-1, -1}, {1, -1}})
      r = std::min(r, reach[static_cast<std::size_t>((y + sign * dy) * w + x + sign * dx)] + 1);
  };
  for (int y = 1; y < h - 1; ++y)
    for (int x = 1; x < w - 1; ++x) sweep(y, x, 1);
  for (int y = h - 2; y > 0; --y)
    for (int x = w - 2; x > 0; --x) sweep(y, x, -1);
  return out;
}

}  // namespace

LabelRoom labelRoomIn(const SlopeBands& map, const BandPatch& patch) {
  const Reach reach = reachIn(map, patch);
  LabelRoom room;
  Eigen::Vector2d sum(0, 0);
  int count = 0;
  for (int y = 1; y < reach.height - 1; ++y)
    for (int x = 1; x < reach.width - 1; ++x) {
      const int r = reach.at(x, y);
      if (r > room.half) room.half = r, sum.setZero(), count = 0;
      if (r == room.half && r > 0)
        sum += Eigen::Vector2d(x + reach.x0 - 1, y + reach.y0 - 1), ++count;
    }
  // The middle of a long strip's ridge, when it lies in the strip.
  const Eigen::Vector2d mean = sum / std::max(1, count);
  room.at = mean;
  double best = 1e300;
  for (int y = 1; y < reach.height - 1; ++y)
    for (int x = 1; x < reach.width - 1; ++x) {
      const Eigen::Vector2d p(x + reach.x0 - 1, y + reach.y0 - 1);
      if (reach.at(x, y) == room.half && (p - mean).norm() < best)
        best = (p - mean).norm(), room.at = p;
    }
  return room;
}

}  // namespace holdshelf
