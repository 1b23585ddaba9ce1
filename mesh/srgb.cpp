// SPDX-License-Identifier: Apache-2.0
#include "mesh/srgb.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace holdshelf {

double linearOfSrgb(double stored) {
  return stored <= 0.04045 ? stored / 12.92 : std::pow((stored + 0.055) / 1.055, 2.4);
}

double srgbOfLinear(double linear) {
  return linear <= 0.0031308 ? 12.92 * linear : 1.055 * std::pow(linear, 1 / 2.4) - 0.055;
}

float linearFromSrgb(std::uint8_t value) {
  static const std::array<float, 256> table = [] {
    std::array<float, 256> t{};
    for (int i = 0; i < 256; ++i) t[i] = float(linearOfSrgb(i / 255.0));
    return t;
  }();
  return table[value];
}

std::uint8_t srgbFromLinear(double linear) {
  if (!(linear > 0)) return 0;  // No number is black, too: rounding it may give anything.
  return std::uint8_t(std::lround(255 * srgbOfLinear(std::clamp(linear, 0.0, 1.0))));
}

}  // namespace holdshelf
