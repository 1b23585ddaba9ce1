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
                                   view({40, 40, 180}, {3, 2, 8}, 10), view({40, 40, 180}, {}, 0)};
  const HoldLight light = holdLight(views);
  CHECK(light.burnt == doctest::Approx(4 / 60.0));  // 4 of 3 x 20 columns.
  CHECK(light.dark == doctest::Approx(10 / 60.0));
  CHECK(light.dark_third == doctest::Approx(0.5));
}

TEST_CASE("lightWarnings: nothing to say of a well lit hold, one sentence for each trouble") {
  CHECK(lightWarnings(holdLight({view({40, 40, 180}, {}, 0)})).empty());
  CHECK(lightWarnings(holdLight({})).empty());
  const auto burnt = lightWarnings(holdLight({view({40, 40, 180}, {255, 255, 255}, 10)}));
  REQUIRE(burnt.size() == 1);
  CHECK(burnt[0].find("50 % of the hold is burnt out") != std::string::npos);
  const auto dark = lightWarnings(holdLight({view({40, 40, 180}, {0, 0, 0}, 10)}));
  REQUIRE(dark.size() == 1);
  CHECK(dark[0].find("light it from two sides") != std::string::npos);
}
