// SPDX-License-Identifier: Apache-2.0
#include "mesh/colour_map.h"

#include <doctest/doctest.h>

#include <cmath>

using namespace holdshelf;

namespace {

/// CIE lightness grows with it: relative luminance of linear light by the sRGB weights, roughly.
double luminance(const Rgb& c) {
  const auto linear = [](double v) { return std::pow(v / 255, 2.2); };
  return 0.2126 * linear(c[0]) + 0.7152 * linear(c[1]) + 0.0722 * linear(c[2]);
}

}  // namespace

TEST_CASE("mapColour: ends, middle and no value") {
  CHECK(mapColour(ColourMap::Diverging, 0.5)[0] > 235);
  CHECK(mapColour(ColourMap::Diverging, -3) == mapColour(ColourMap::Diverging, 0));
  CHECK(mapColour(ColourMap::Sequential, 7) == mapColour(ColourMap::Sequential, 1));
  CHECK(mapColour(ColourMap::Sequential, NAN) == Rgb{128, 128, 128});
}

TEST_CASE("mapColour: reads without colour vision") {
  for (double t = 0.05; t < 1.001; t += 0.05)
    CHECK(luminance(mapColour(ColourMap::Sequential, t)) >
          luminance(mapColour(ColourMap::Sequential, t - 0.05)));
  for (double t = 0.05; t < 0.501; t += 0.05) {
    CHECK(luminance(mapColour(ColourMap::Diverging, t)) >
          luminance(mapColour(ColourMap::Diverging, t - 0.05)));
    CHECK(luminance(mapColour(ColourMap::Diverging, 1 - t)) >
          luminance(mapColour(ColourMap::Diverging, 1.05 - t)));
  }
}
