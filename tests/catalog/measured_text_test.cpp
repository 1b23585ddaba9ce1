// SPDX-License-Identifier: Apache-2.0
#include "catalog/measured_text.h"

#include <doctest/doctest.h>

#include <cmath>

using namespace holdshelf;

static Measured measured(double value, double sigma) {
  Measured out;
  out.set_value(value);
  out.set_sigma(sigma);
  return out;
}

TEST_CASE("measuredText: rounded to the uncertainty's first digit, or second after a one") {
  CHECK(measuredText(measured(14.23, 0.31), "mm") == "14.2 ± 0.3 mm");
  CHECK(measuredText(measured(61.2, 2.1), "mm") == "61 ± 2 mm");
  CHECK(measuredText(measured(12.341, 0.12), "mm") == "12.34 ± 0.12 mm");
  CHECK(measuredText(measured(61'200, 2'100), "cm³", 1e-3) == "61 ± 2 cm³");
  CHECK(measuredText(measured(14.23, 0), "°") == "14.2°");
}

TEST_CASE("measuredText: an uncertainty that is no number is said to be unknown") {
  CHECK(measuredText(measured(14.23, std::nan("")), "mm") == "14.2 ± ? mm");
  CHECK(measuredText(measured(14.23, HUGE_VAL), "mm") == "14.2 ± ? mm");
}
