// SPDX-License-Identifier: Apache-2.0
#include "mesh/raster_image.h"

#include <doctest/doctest.h>

using namespace holdshelf;

TEST_CASE("shrunk: means of whole blocks, rounded, channel by channel") {
  RasterImage big{5, 2, {}};  // The fifth column is no whole block.
  big.rgb = {0, 10, 0, 1, 20, 0, 100, 0, 0, 100, 0, 0, 9, 9, 9,
             0, 30, 0, 1, 40, 3, 100, 0, 0, 101, 0, 0, 9, 9, 9};
  const RasterImage small = shrunk(big, 2);
  CHECK(small.width_px == 2);
  CHECK(small.height_px == 1);
  // Half is rounded up.
  CHECK(small.rgb == std::vector<std::uint8_t>{1, 25, 1, 100, 0, 0});
  CHECK(shrunk(big, 1).rgb == big.rgb);
}
