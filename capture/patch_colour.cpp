// SPDX-License-Identifier: Apache-2.0
#include "capture/patch_colour.h"

#include <algorithm>
#include <vector>

#include "capture/photo.h"

namespace holdshelf {

std::array<double, 3> patchColour_srgb(const std::filesystem::path& picture) {
  const cv::Mat bgr = readPhoto(picture).bgr;
  const cv::Mat middle =
      bgr(cv::Rect(bgr.cols / 3, bgr.rows / 3, (bgr.cols + 2) / 3, (bgr.rows + 2) / 3));
  std::array<double, 3> srgb{};
  for (int channel = 0; channel < 3; ++channel) {
    std::vector<std::uint8_t> values;
    for (int y = 0; y < middle.rows; ++y)
      for (int x = 0; x < middle.cols; ++x)
        values.push_back(middle.at<cv::Vec3b>(y, x)[2 - channel]);
    const auto half = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), half, values.end());
    srgb[static_cast<std::size_t>(channel)] = *half / 255.0;
  }
  return srgb;
}

}  // namespace holdshelf
