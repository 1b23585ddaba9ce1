// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <array>
#include <cstdint>
#include <vector>

namespace holdshelf {

/// Red, green, blue; 8-bit sRGB.
using Rgb = std::array<std::uint8_t, 3>;

/// A picture, 8-bit sRGB, row by row.
struct RasterImage {
  int width_px = 0;
  int height_px = 0;
  std::vector<std::uint8_t> rgb;  ///< 3 a pixel.
};

/// Averages blocks of `times` by `times` pixels, channel by channel, rounded to the nearest value.
/// Rows and columns beyond the last whole block are left out.
RasterImage shrunk(const RasterImage& big, int times);

}  // namespace holdshelf
