// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstddef>
#include <cstdint>
#include <opencv2/core.hpp>
#include <string>
#include <vector>

#include "mesh/raster_image.h"

namespace holdshelf::sheet {

// What contact sheets are set with: text, colours (B, G, R) and rows of pictures.

inline const cv::Scalar kPaper(252, 252, 250), kInk(48, 42, 38), kFaint(150, 144, 140);
inline const cv::Scalar kRefused(40, 40, 200);

/// Writes a line of ASCII (OpenCV's stroke font knows no other), its baseline at `at`.
/// @param size  1: capitals of some 21 px.
void write(cv::Mat& sheet, const std::string& text, cv::Point at, double size,
           const cv::Scalar& colour = kInk, int weight = 1);

/// Width of a line in pixels.
int widthOf(const std::string& text, double size);

/// Breaks a sentence into lines no wider than `width` pixels, but for words that are wider by
/// themselves; at most `most` of them, the last with " ..." where words are left.
std::vector<std::string> wrapped(const std::string& text, double size, int width, std::size_t most);

/// With so many decimals.
std::string number(double value, int decimals);

/// A copy as OpenCV orders its channels.
cv::Mat toCv(const RasterImage& image);

/// A page that grows downwards: headings, and rows of pictures side by side.
class SheetPage {
 public:
  static constexpr int kGap_px = 16;  ///< Round every picture.

  explicit SheetPage(int width_px) : width_px_(width_px) {}

  /// The pictures together must not be wider than the page.
  void row(const std::vector<cv::Mat>& pictures);

  /// @param aside  Small and faint, at the right.
  void heading(const std::string& text, double size, const std::string& aside = {});

  std::vector<std::uint8_t> png() const;

 private:
  int width_px_;
  std::vector<cv::Mat> strips_;
};

}  // namespace holdshelf::sheet
