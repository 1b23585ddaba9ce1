// SPDX-License-Identifier: Apache-2.0
#include "capture/mat_colours.h"

#include <doctest/doctest.h>

#include <cmath>

using namespace holdshelf;

namespace {

const Eigen::Vector3f kPaper(MatColours::kPaper, 0, 0);

}  // namespace

TEST_CASE("MatColours: each ink's density has the whole of one, but for its floor") {
  const MatColours colours;
  for (const MatInk ink : {MatInk::White, MatInk::Black, MatInk::Edge}) {
    CAPTURE(int(ink));
    // By the midpoint rule over all that is not floor, in steps finer than the narrowest part.
    double sum = 0;
    const double dl = 0.01, dc = 0.01;
    for (double l = -5 + dl / 2; l < 1; l += dl)
      for (double c = dc / 2; c < 1; c += dc)  // Rings: the part across luminance is round.
        sum += std::exp(colours.logDensity(ink, {float(l), float(c), 0})) * 2 * M_PI * c * dc * dl;
    CHECK(sum > 0.9);
    CHECK(sum < 1.1);
  }
}

TEST_CASE("MatColours: what paper and ink look like in light and in shadow") {
  MatColours colours;
  colours.black_log = std::log(0.06f + 0.02f);
  const Eigen::Vector3f ink(colours.black_log, 0.1f, 0), red(-1.2f, 1.5f, -0.4f);
  const Eigen::Vector3f shaded(std::log(0.5f), 0.03f, 0);  // Half the light.
  CHECK(colours.bare(MatInk::White, kPaper));
  CHECK_FALSE(colours.bare(MatInk::White, shaded));
  CHECK_FALSE(colours.bare(MatInk::White, ink));
  CHECK(colours.bare(MatInk::Black, ink));
  CHECK_FALSE(colours.bare(MatInk::Black, kPaper));
  CHECK(MatColours::shadedPaper(kPaper));
  CHECK(MatColours::shadedPaper(shaded));
  CHECK_FALSE(MatColours::shadedPaper(ink));
  CHECK_FALSE(MatColours::shadedPaper(red));
  CHECK(colours.likely(MatInk::Edge, shaded));
  CHECK_FALSE(colours.likely(MatInk::Edge, red));
  CHECK_FALSE(colours.likely(MatInk::None, kPaper));
  for (const MatInk any : {MatInk::White, MatInk::Black, MatInk::Edge}) {
    CAPTURE(int(any));
    CHECK(colours.logDensity(any, red) <
          colours.logDensity(any, any == MatInk::White ? kPaper : ink) - 1);
  }
  CHECK(colours.logDensity(MatInk::White, kPaper) > colours.logDensity(MatInk::White, shaded));
  CHECK(colours.logDensity(MatInk::White, shaded) > colours.logDensity(MatInk::White, ink));
}
