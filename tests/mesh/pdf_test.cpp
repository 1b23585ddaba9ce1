// SPDX-License-Identifier: Apache-2.0
#include "mesh/pdf.h"

#include <doctest/doctest.h>

#include <opencv2/imgproc.hpp>
#include <stdexcept>

#include "tests/pdf_raster.h"

using namespace holdshelf;

namespace {

constexpr double kDotsPerInch = 254, kPixelsPerMm = 10;

/// Share of ink (0 white, 1 black) at a place of the sheet.
double inkAt(const cv::Mat& sheet, double x_mm, double y_mm) {
  return 1 - sheet.at<unsigned char>(int(y_mm * kPixelsPerMm), int(x_mm * kPixelsPerMm)) / 255.0;
}

/// Area of ink in mm².
double inkOf(const cv::Mat& sheet) {
  return (255.0 * double(sheet.total()) - cv::sum(sheet)[0]) / 255 / kPixelsPerMm / kPixelsPerMm;
}

}  // namespace

TEST_CASE("PdfSheets: every shape lies where it was drawn, in true millimetres") {
  PdfSheets sheets(80, 60);
  sheets.fill({{10, 20, 5, 10}, {15, 20, 5, 10}});
  sheets.polygon({{40, 10}, {50, 10}, {40, 20}});
  sheets.ellipse({60, 40}, 4, 8);
  sheets.line({10, 50}, {30, 50}, 2);
  sheets.frame({70, 5, 5, 5}, 1);
  const cv::Mat page = test::rasterisedPdf(sheets.finish(), kDotsPerInch);
  REQUIRE(std::abs(page.cols - 800) <= 1);
  REQUIRE(std::abs(page.rows - 600) <= 1);
  CHECK(inkAt(page, 10.1, 20.1) == 1);
  CHECK(inkAt(page, 19.9, 29.9) == 1);
  CHECK(inkAt(page, 15.0, 25) == 1);  // No hairline between touching boxes.
  CHECK(inkAt(page, 9.8, 25) == 0);
  CHECK(inkAt(page, 20.2, 25) == 0);
  CHECK(inkAt(page, 15, 19.8) == 0);
  CHECK(inkAt(page, 42, 12) == 1);
  CHECK(inkAt(page, 48, 18) == 0);
  CHECK(inkAt(page, 60, 32.2) == 1);
  CHECK(inkAt(page, 64.2, 40) == 0);
  CHECK(inkAt(page, 72.5, 7.5) == 0);
  // Areas in closed form: boxes, half a square, ellipse, line, frame.
  const double area = 100 + 50 + M_PI * 4 * 8 + 40 + (6 * 6 - 4 * 4);
  CHECK(std::abs(inkOf(page) - area) < 0.5);
}

TEST_CASE("PdfSheets: pictures keep their rows and colours, sheets follow each other") {
  PdfSheets sheets(40, 40);
  RasterImage picture{40, 40, {}};  // Black, white; white, black.
  for (int i = 0; i < 1600; ++i)
    picture.rgb.insert(picture.rgb.end(), 3, (i % 40 < 20) == (i / 40 < 20) ? 0 : 255);
  sheets.image({10, 10, 20, 20}, picture);
  sheets.newSheet();
  sheets.fill({{0, 0, 40, 40}}, 0.5);
  const std::string pdf = sheets.finish();
  const cv::Mat first = test::rasterisedPdf(pdf, kDotsPerInch, 1);
  CHECK(inkAt(first, 12, 12) > 0.95);
  CHECK(inkAt(first, 28, 12) < 0.05);
  CHECK(inkAt(first, 12, 28) < 0.05);
  CHECK(inkAt(first, 28, 28) > 0.95);
  const cv::Mat second = test::rasterisedPdf(pdf, kDotsPerInch, 2);
  CHECK(std::abs(inkAt(second, 20, 20) - 0.5) < 0.01);
}

TEST_CASE("PdfSheets: text is as wide as it says, and breaks where it must") {
  PdfSheets sheets(100, 30);
  const std::string words = "Überhang “steil” 14 mm ±";
  const double width = sheets.textWidth_mm(words, 5);
  sheets.text({95, 20}, words, 5, 1);
  const cv::Mat page = test::rasterisedPdf(sheets.finish(), kDotsPerInch);
  cv::Mat points;
  cv::findNonZero(page < 128, points);
  const cv::Rect ink = cv::boundingRect(points);
  CHECK(std::abs(ink.width / kPixelsPerMm - width) < 1);
  CHECK(std::abs((ink.x + ink.width) / kPixelsPerMm - 95) < 1);

  PdfSheets other(100, 30);
  const auto lines = other.wrap("one two three four five six seven", 30, 5);
  CHECK(lines.size() > 1);
  std::string joined;
  for (const auto& line : lines) {
    CHECK(other.textWidth_mm(line, 5) <= 30);
    joined += (joined.empty() ? "" : " ") + line;
  }
  CHECK(joined == "one two three four five six seven");
  CHECK(other.wrap("", 30, 5) == std::vector<std::string>{""});
}

TEST_CASE("PdfSheets: the same drawing is the same bytes, and asks not to be scaled") {
  const auto drawn = [] {
    PdfSheets sheets(50, 50);
    sheets.text({5, 20}, "14 mm", 4);
    return sheets.finish();
  };
  const std::string pdf = drawn();
  CHECK(pdf == drawn());
  CHECK(pdf.find("/PrintScaling /None") != std::string::npos);
  CHECK_THROWS_AS(PdfSheets(0, 10), std::invalid_argument);
}
