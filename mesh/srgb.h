// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>

namespace holdshelf {

/// The transfer function of sRGB (IEC 61966-2-1, 4.2): between a colour channel as pictures store
/// it and the light it stands for, both 0 to 1. Below 0.04045 the curve is a straight line.
double linearOfSrgb(double stored);
double srgbOfLinear(double linear);

/// Linear light, 0 to 1, of an 8-bit sRGB value, in single precision from a table.
float linearFromSrgb(std::uint8_t value);

/// 8-bit sRGB of linear light, clamped to 0..1.
std::uint8_t srgbFromLinear(double linear);

}  // namespace holdshelf
