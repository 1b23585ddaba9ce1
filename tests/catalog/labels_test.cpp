// SPDX-License-Identifier: Apache-2.0
#include "catalog/labels.h"

#include <doctest/doctest.h>
#include <zbar.h>

#include <cmath>
#include <opencv2/imgproc.hpp>

#include "catalog/qr_code.h"
#include "mesh/bad_input.h"
#include "mesh/pdf.h"
#include "tests/pdf_raster.h"

using namespace holdshelf;
using holdshelf::test::rasterisedPdf;

namespace {

constexpr double kDots = 300;  // A label printer's usual resolution, dots per inch.

Hold someHold(int number) {
  Hold hold;
  hold.set_id("H-" + std::to_string(1000 + number));
  hold.set_name("Harbour ledge, tall one");
  hold.set_bin("A1");
  GripWord& word = *hold.add_words();
  word.set_word("edge");
  word.set_reason("edge 44 mm deep, lip radius 9 mm");
  return hold;
}

/// What zbar, which shares nothing with libqrencode, finds in one label's box.
std::string readBack(const cv::Mat& sheet, const PdfBox& box) {
  const double px = kDots / 25.4;
  const cv::Rect part(int(box.left_mm * px), int(box.top_mm * px), int(box.width_mm * px),
                      int(box.height_mm * px));
  const cv::Mat grey = sheet(part & cv::Rect(0, 0, sheet.cols, sheet.rows)).clone();
  zbar::ImageScanner scanner;
  scanner.set_config(zbar::ZBAR_NONE, zbar::ZBAR_CFG_ENABLE, 0);
  scanner.set_config(zbar::ZBAR_QRCODE, zbar::ZBAR_CFG_ENABLE, 1);
  zbar::Image image(static_cast<unsigned>(grey.cols), static_cast<unsigned>(grey.rows), "Y800",
                    grey.data, grey.total());
  if (scanner.scan(image) != 1) return "";
  return image.symbol_begin()->get_data();
}

PdfBox place(const LabelSheet& sheet, int i) {
  return {sheet.left_mm + i % sheet.columns * sheet.step_x_mm,
          sheet.top_mm + i / sheet.columns * sheet.step_y_mm, sheet.label_width_mm,
          sheet.label_height_mm};
}

}  // namespace

TEST_CASE("labels: every code on every sheet opens its hold") {
  const std::string page = "http://holds.local:8484/";
  for (const LabelSheet& sheet : labelSheets()) {
    CAPTURE(sheet.name);
    const int places = sheet.columns * sheet.rows;
    const bool whole_sheet = places <= 12;
    std::vector<Label> labels;
    for (int i = 0; i < (whole_sheet ? places : 3); ++i)
      labels.push_back(holdLabel(someHold(i), page));
    const int skip = whole_sheet ? 0 : places - 3;  // The last row of the large grids.
    const cv::Mat picture = rasterisedPdf(labelsPdf(labels, sheet, skip), kDots);
    REQUIRE(std::abs(picture.cols - sheet.width_mm / 25.4 * kDots) < 2);
    for (std::size_t i = 0; i < labels.size(); ++i)
      CHECK(readBack(picture, place(sheet, skip + int(i))) ==
            "http://holds.local:8484/#/hold/H-" + std::to_string(1000 + i));
  }
}

TEST_CASE("labels: nothing is printed over the edge of a label") {
  const LabelSheet sheet = labelSheet("A4-65");
  Hold hold = someHold(0);
  hold.set_name(
      "An uncommonly long name for a hold thatdoesnotevenbreakanywhereatallinitssecondhalf");
  hold.set_bin("Behind the door on the left");
  const cv::Mat picture =
      rasterisedPdf(labelsPdf({holdLabel(hold, "http://h.local:8484/")}, sheet, 7), kDots);
  const PdfBox box = place(sheet, 7);
  const double px = kDots / 25.4;
  cv::Mat outside = picture.clone();
  cv::rectangle(outside,
                cv::Rect(int((box.left_mm + 1) * px), int((box.top_mm + 1) * px),
                         int((box.width_mm - 2) * px), int((box.height_mm - 2) * px)),
                255, cv::FILLED);
  double darkest = 0;
  cv::minMaxLoc(outside, &darkest);
  CHECK(darkest == 255);
}

TEST_CASE("labels: sheets fill up and go on; places used up are left free") {
  const LabelSheet sheet = labelSheet("A4-8");
  std::vector<Label> labels;
  for (int i = 0; i < 8; ++i) labels.push_back(holdLabel(someHold(i), "http://h.local/"));
  const std::string pdf = labelsPdf(labels, sheet, 3);
  const cv::Mat first = rasterisedPdf(pdf, kDots, 1), second = rasterisedPdf(pdf, kDots, 2);
  CHECK(readBack(first, place(sheet, 2)).empty());
  CHECK(readBack(first, place(sheet, 3)) == labels[0].url);
  CHECK(readBack(second, place(sheet, 2)) == labels[7].url);
  CHECK(readBack(second, place(sheet, 3)).empty());
}

TEST_CASE("labels: addresses are escaped, sheets and codes that cannot be are refused") {
  CHECK(holdUrl("http://h/", "H-0001") == "http://h/#/hold/H-0001");
  CHECK(binUrl("http://h/", "A 1/2#ü") ==
        "http://h/#/shelf?bin=A%201%2F2%23%C3%BC");  // RFC 3986, 2.1.
  CHECK(labelSheet("40x20.5").label_height_mm == 20.5);
  for (const char* wrong :
       {"", "A4-7", "x", "40x", "x40", "10x40", "40x5", "500x40", "40x40x40", "-62x29", "nanx30"})
    CHECK_THROWS_AS(labelSheet(wrong), BadInput);
  CHECK_THROWS_AS(labelsPdf({}, labelSheet("A4-21")), BadInput);
  CHECK_THROWS_AS(labelsPdf({{"x", "y", {}}}, labelSheet("A4-21"), 21), BadInput);
  const Label long_one{"http://" + std::string(300, 'x') + "/", "H-1", {}};
  CHECK_THROWS_AS(labelsPdf({long_one}, labelSheet("20x12")), BadInput);
  CHECK_THROWS_AS(qrCode(""), BadInput);
}
