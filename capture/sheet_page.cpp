// SPDX-License-Identifier: Apache-2.0
#include "capture/sheet_page.h"

#include <algorithm>
#include <cstdio>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

namespace holdshelf::sheet {

void write(cv::Mat& sheet, const std::string& text, cv::Point at, double size,
           const cv::Scalar& colour, int weight) {
  cv::putText(sheet, text, at, cv::FONT_HERSHEY_SIMPLEX, size, colour, weight, cv::LINE_AA);
}

int widthOf(const std::string& text, double size) {
  int base = 0;
  return cv::getTextSize(text, cv::FONT_HERSHEY_SIMPLEX, size, 1, &base).width;
}

std::vector<std::string> wrapped(const std::string& text, double size, int width,
                                 std::size_t most) {
  std::vector<std::string> lines(1);
  std::size_t from = 0;
  while (from < text.size()) {
    std::size_t to = text.find(' ', from);
    if (to == std::string::npos) to = text.size();
    const std::string word = text.substr(from, to - from);
    const std::string longer = lines.back().empty() ? word : lines.back() + " " + word;
    if (widthOf(longer, size) <= width || lines.back().empty()) {
      lines.back() = longer;
    } else if (lines.size() == most) {
      lines.back() += " ...";
      return lines;
    } else {
      lines.push_back(word);
    }
    from = to + 1;
  }
  return lines;
}

std::string number(double value, int decimals) {
  char text[64];
  std::snprintf(text, sizeof text, "%.*f", decimals, value);
  return text;
}

cv::Mat toCv(const RasterImage& image) {
  cv::Mat rgb(image.height_px, image.width_px, CV_8UC3,
              const_cast<std::uint8_t*>(image.rgb.data()));
  cv::Mat bgr;
  cv::cvtColor(rgb, bgr, cv::COLOR_RGB2BGR);
  return bgr;
}

void SheetPage::row(const std::vector<cv::Mat>& pictures) {
  int height = 0;
  for (const auto& p : pictures) height = std::max(height, p.rows);
  cv::Mat strip(height + kGap_px, width_px_, CV_8UC3, kPaper);
  int x = kGap_px;
  for (const auto& p : pictures) {
    p.copyTo(strip(cv::Rect(x, 0, p.cols, p.rows)));
    x += p.cols + kGap_px;
  }
  strips_.push_back(strip);
}

void SheetPage::heading(const std::string& text, double size, const std::string& aside) {
  const int height = int(44 * size) + 16;
  cv::Mat strip(height, width_px_, CV_8UC3, kPaper);
  write(strip, text, {kGap_px, height - 14}, size, kInk, size > 0.9 ? 2 : 1);
  if (!aside.empty()) {
    const int w = widthOf(aside, 0.5);
    write(strip, aside, {width_px_ - kGap_px - w, height - 14}, 0.5, kFaint);
  }
  strips_.push_back(strip);
}

std::vector<std::uint8_t> SheetPage::png() const {
  cv::Mat all;
  cv::vconcat(strips_, all);
  std::vector<std::uint8_t> bytes;
  cv::imencode(".png", all, bytes, {cv::IMWRITE_PNG_COMPRESSION, 6});
  return bytes;
}

}  // namespace holdshelf::sheet
