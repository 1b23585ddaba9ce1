// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <opencv2/core.hpp>

namespace holdshelf {

/// What is already known of a pixel before the cut.
enum : std::uint8_t { kFree = 0, kSurelyBackground = 1, kSurelyForeground = 2 };

/// Splits a picture in two so that the sum of costs is the smallest there is.
///
/// @param foreground_gain  CV_32FC1: log likelihood as foreground minus as background.
/// @param features         CV_32FC3: what neighbours are compared by; a cut between neighbours
///                         costs up to `smoothness`, less the more they differ.
/// @param known            CV_8UC1 of the constants above; only free pixels cost time.
/// @return  CV_8UC1, 255 where foreground.
/// After Boykov, Jolly, ICCV 2001; the edge weights after Rother et al., SIGGRAPH 2004, eq. 11.
cv::Mat minimalCut(const cv::Mat& foreground_gain, const cv::Mat& features, const cv::Mat& known,
                   float smoothness);

}  // namespace holdshelf
