// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <opencv2/core.hpp>
#include <optional>
#include <vector>

#include "capture/recess.h"
#include "capture/view.h"

namespace holdshelf {

/// A photo's surroundings of a recess in one channel, the hold's own hue: a dark blue floor is not
/// to be looked at through a weighted mean for human eyes.
struct RecessLook {
  const View* view = nullptr;
  cv::Mat_<float> grey;  ///< Weighted mean of B, G and R, blurred by 0.7 px for bilinear sampling.
  cv::Point corner;      ///< Of the grey picture in the view's.

  /// Bilinear; nullopt where the point (frame H, mm) is not in the picture.
  std::optional<float> at(const Eigen::Vector3d& point_mm) const;
};

/// The looks of all views that may see past the rim to what lies `shallowest_mm` below it, and that
/// show the recess in 100 pixels at least. The weights of the channels are those of the mean colour
/// of all these pictures together.
std::vector<RecessLook> looksInto(const Recess& recess, const std::vector<View>& views,
                                  double shallowest_mm);

}  // namespace holdshelf
