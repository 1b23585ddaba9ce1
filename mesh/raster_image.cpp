// SPDX-License-Identifier: Apache-2.0
#include "mesh/raster_image.h"

#include <cstddef>

namespace holdshelf {

RasterImage shrunk(const RasterImage& big, int times) {
  RasterImage out{big.width_px / times, big.height_px / times, {}};
  out.rgb.resize(std::size_t(out.width_px) * out.height_px * 3);
  for (int y = 0; y < out.height_px; ++y)
    for (int x = 0; x < out.width_px; ++x)
      for (int c = 0; c < 3; ++c) {
        int sum = 0;
        for (int j = 0; j < times; ++j)
          for (int i = 0; i < times; ++i)
            sum += big.rgb[(std::size_t(y * times + j) * big.width_px + x * times + i) * 3 + c];
        out.rgb[(std::size_t(y) * out.width_px + x) * 3 + c] =
            std::uint8_t((sum + times * times / 2) / (times * times));
      }
  return out;
}

}  // namespace holdshelf
