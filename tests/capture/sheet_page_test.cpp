// SPDX-License-Identifier: Apache-2.0
#include "capture/sheet_page.h"

#include <doctest/doctest.h>

#include <opencv2/imgcodecs.hpp>

using namespace holdshelf;
using namespace holdshelf::sheet;

TEST_CASE("wrapped: lines within the width, no word lost, cut where there are too many") {
  const std::string text =
      "The hold was moved on the mat between two photos and must be shot again";
  const auto lines = wrapped(text, 0.45, 200, 9);
  REQUIRE(lines.size() > 1);
  std::string all;
  for (const std::string& line : lines) {
    CHECK(widthOf(line, 0.45) <= 200);
    all += (all.empty() ? "" : " ") + line;
  }
  CHECK(all == text);
  const auto two = wrapped(text, 0.45, 200, 2);
  REQUIRE(two.size() == 2);
  CHECK(two[1].substr(two[1].size() - 4) == " ...");
  CHECK(wrapped("Unbreakable", 0.45, 5, 3) == std::vector<std::string>{"Unbreakable"});
}

TEST_CASE("SheetPage: rows below each other, pictures a gap apart") {
  SheetPage page(16 + 40 + 16 + 30 + 16);
  page.row({cv::Mat(20, 40, CV_8UC3, cv::Scalar(10, 20, 30)), cv::Mat(30, 30, CV_8UC3, kInk)});
  page.row({cv::Mat(10, 40, CV_8UC3, kRefused)});
  const cv::Mat sheet = cv::imdecode(page.png(), cv::IMREAD_COLOR);
  CHECK(sheet.size() == cv::Size(118, 30 + 16 + 10 + 16));
  CHECK(sheet.at<cv::Vec3b>(0, 16) == cv::Vec3b(10, 20, 30));
  CHECK(sheet.at<cv::Vec3b>(29, 72) == cv::Vec3b(48, 42, 38));
  CHECK(sheet.at<cv::Vec3b>(46, 16) == cv::Vec3b(40, 40, 200));
  CHECK(sheet.at<cv::Vec3b>(25, 20) == cv::Vec3b(252, 252, 250));  // Paper below the shorter one.
}

TEST_CASE("toCv: blue first") {
  const RasterImage image{2, 1, {1, 2, 3, 4, 5, 6}};
  CHECK(toCv(image).at<cv::Vec3b>(0, 1) == cv::Vec3b(6, 5, 4));
}
