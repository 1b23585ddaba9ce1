// SPDX-License-Identifier: Apache-2.0
#include "capture/hold_light.h"

#include <doctest/doctest.h>

using namespace holdshelf;

namespace {

/// 40 x 40 pixels, the hold in the left half; `odd` of its 20 columns in another colour.
View view(const cv::Vec3b& colour, const cv::Vec3b& odd_colour, int odd) {
  View v;
  v.bgr = cv::Mat(40, 40, CV_8UC3, cv::Scalar(255, 255, 255));  // What is no hold may be white.
  v.mask = cv::Mat(40, 40, CV_8UC1, cv::Scalar(0));
  v.mask(cv::Rect(0, 0, 20, 40)).setTo(255);
  v.bgr(cv::Rect(0, 0, 20, 40)).setTo(colour);
  if (odd > 0) v.bgr(cv::Rect(0, 0, odd, 40)).setTo(odd_colour);
  return v;
}

}  // namespace

TEST_CASE("holdLight: shares of the hold, not of the picture") {
  const std::vector<View> views = {view({40, 40, 180}, {200, 90, 255}, 4),
                                   view({40, 40, 180}, {3, 2, 8}, 8), view({40, 40, 180}, {}, 0)};
  const HoldLight light = holdLight(views);
  CHECK(light.burnt == doctest::Approx(4 / 60.0));  // 4 of 3 x 20 columns.
  CHECK(light.shadowed == doctest::Approx(0.4));    // Of the photo that has most, one in three.
}

TEST_CASE("holdLight: a black hold in good light is not in shadow") {
  CHECK(holdLight({view({14, 14, 16}, {20, 20, 22}, 8)}).shadowed == 0);
}

TEST_CASE("holdLight: half the light in 8-bit steps is a fifth of the light") {
  // IEC 61966-2-1: 180 is 0.456 of full, 90 is 0.102, 95 is 0.114: a quarter of 0.456.
  CHECK(holdLight({view({0, 0, 180}, {0, 0, 90}, 8)}).shadowed == doctest::Approx(0.4));
  CHECK(holdLight({view({0, 0, 180}, {0, 0, 96}, 8)}).shadowed == 0);
}

TEST_CASE("lightWarnings: nothing to say of a well lit hold, one sentence for each trouble") {
  CHECK(lightWarnings(holdLight({view({40, 40, 180}, {}, 0)})).empty());
  CHECK(lightWarnings(holdLight({})).empty());
  const auto burnt = lightWarnings(holdLight({view({40, 40, 180}, {255, 255, 255}, 10)}));
  REQUIRE(burnt.size() == 1);
  CHECK(burnt[0].find("50 % of the hold is burnt out") != std::string::npos);
  const auto dark = lightWarnings(holdLight({view({40, 40, 180}, {0, 0, 0}, 8)}));
  REQUIRE(dark.size() == 1);
  CHECK(dark[0].find("light it from two sides") != std::string::npos);
}
