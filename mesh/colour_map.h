// SPDX-License-Identifier: Apache-2.0
#pragma once
#include "mesh/raster_image.h"

namespace holdshelf {

/// Colours for numbers. Both maps read without colour vision: lightness rises along the sequential
/// one and is highest in the middle of the diverging one.
enum class ColourMap {
  Sequential,  ///< Dark blue, green, yellow: a quantity from low to high.
  Diverging    ///< Blue, white, red: a signed deviation.
};

/// Colour of t in 0..1 (clamped); mid grey for NaN. Five evenly spaced colours, interpolated in
/// sRGB.
Rgb mapColour(ColourMap map, double t);

}  // namespace holdshelf
