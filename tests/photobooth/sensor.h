// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>
#include <opencv2/core.hpp>

namespace holdshelf {

/// What happens to light between lens and file. Defaults are a phone in a lit room.
struct SensorOptions {
  double blur_px = 0.45;       ///< Standard deviation of the lens's point spread.
  double full_well = 6000;     ///< Electrons at white: shot noise.
  double read_noise = 0.0012;  ///< Standard deviation, fraction of white.
  double exposure = 1;         ///< Gain before clipping.
  double white_balance_b = 1, white_balance_r = 1;
  std::uint32_t seed = 1;
};

/// Develops linear light (CV_32FC3, BGR, 1: white) to an 8-bit sRGB picture: lens blur, exposure,
/// noise, clipping, tone curve (IEC 61966-2-1), rounding; in this order.
cv::Mat develop(const cv::Mat& linear_bgr, const SensorOptions& options);

}  // namespace holdshelf
