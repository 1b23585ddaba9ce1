// SPDX-License-Identifier: Apache-2.0
#include "mesh/png.h"

#include <doctest/doctest.h>

#include <opencv2/imgcodecs.hpp>

#include "mesh/bad_input.h"

using namespace holdshelf;

static RasterImage gradient(int width, int height) {
  RasterImage image{width, height, {}};
  for (int y = 0; y < height; ++y)
    for (int x = 0; x < width; ++x)
      for (int v : {x * 5, y * 7, x * y}) image.rgb.push_back(std::uint8_t(v));
  return image;
}

TEST_CASE("encodePng: OpenCV reads the same picture") {
  const RasterImage image = gradient(37, 21);
  const cv::Mat read = cv::imdecode(encodePng(image), cv::IMREAD_COLOR);
  REQUIRE(read.cols == 37);
  REQUIRE(read.rows == 21);
  for (int y = 0; y < 21; ++y)
    for (int x = 0; x < 37; ++x)
      for (int c = 0; c < 3; ++c)
        CHECK(read.at<cv::Vec3b>(y, x)[2 - c] == image.rgb[(y * 37 + x) * 3 + c]);
}

TEST_CASE("decodePng: reads what OpenCV wrote, refuses every truncation") {
  const cv::Mat grey(9, 14, CV_8UC1, cv::Scalar(77));
  std::vector<std::uint8_t> bytes;
  REQUIRE(cv::imencode(".png", grey, bytes));
  const RasterImage image = decodePng(bytes, "grey.png");
  CHECK(image.width_px == 14);
  CHECK(image.rgb == std::vector<std::uint8_t>(14 * 9 * 3, 77));
  // The last chunk (IEND, 12 bytes) carries no picture, so libpng does not miss it.
  for (std::size_t n = 0; n + 12 < bytes.size(); ++n) {
    CAPTURE(n);
    CHECK_THROWS_AS(decodePng({bytes.begin(), bytes.begin() + long(n)}, "cut.png"), BadInput);
  }
}
