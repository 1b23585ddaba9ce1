// SPDX-License-Identifier: Apache-2.0
#include "mesh/srgb.h"

#include <doctest/doctest.h>

#include <cmath>

using namespace holdshelf;

TEST_CASE("linearFromSrgb: the standard's ends and middle, inverse of srgbFromLinear") {
  CHECK(linearFromSrgb(0) == 0);
  CHECK(linearFromSrgb(255) == doctest::Approx(1));
  CHECK(linearFromSrgb(188) == doctest::Approx(0.5029).epsilon(0.001));  // IEC 61966-2-1.
  for (int v = 0; v < 256; ++v) CHECK(srgbFromLinear(double(linearFromSrgb(std::uint8_t(v)))) == v);
}

TEST_CASE("linearOfSrgb and srgbOfLinear: inverse of one another, one curve where the parts meet") {
  for (double v = 0; v <= 1; v += 1.0 / 64)
    CHECK(srgbOfLinear(linearOfSrgb(v)) == doctest::Approx(v).epsilon(1e-4));
  // The standard's constants are rounded: the two parts meet to 1e-7 (IEC 61966-2-1, 4.2).
  CHECK(std::abs(linearOfSrgb(0.04045) - linearOfSrgb(std::nextafter(0.04045, 1))) < 1e-7);
  CHECK(srgbFromLinear(-0.2) == 0);
  CHECK(srgbFromLinear(1.2) == 255);
  CHECK(srgbFromLinear(std::nan("")) == 0);
}
