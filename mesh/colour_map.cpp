// SPDX-License-Identifier: Apache-2.0
#include "mesh/colour_map.h"

#include <algorithm>
#include <cmath>

namespace holdshelf {

Rgb mapColour(ColourMap map, double t) {
  static constexpr double kSequential[5][3] = {
      {52, 28, 96}, {52, 92, 142}, {30, 148, 136}, {112, 200, 88}, {250, 230, 50}};
  static constexpr double kDiverging[5][3] = {
      {32, 88, 160}, {130, 180, 220}, {245, 245, 242}, {240, 160, 120}, {176, 28, 44}};
  if (std::isnan(t)) return {128, 128, 128};
  const auto& table = map == ColourMap::Sequential ? kSequential : kDiverging;
  const double s = std::clamp(t, 0.0, 1.0) * 4;
  const int i = std::min(int(s), 3);
  Rgb out;
  for (int c = 0; c < 3; ++c)
    out[c] = std::uint8_t(std::lround(table[i][c] + (s - i) * (table[i + 1][c] - table[i][c])));
  return out;
}

}  // namespace holdshelf
