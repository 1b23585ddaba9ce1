// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>

namespace holdshelf {

/// A corner of the mat seen in a photo.
struct CornerSighting {
  int photo = 0;   ///< Index of the pose.
  int corner = 0;  ///< Index of the mat's corner, 4 marker + corner.
  Eigen::Vector2d px = Eigen::Vector2d::Zero();
  double sigma_px = 0.1;  ///< Standard uncertainty as measured.
  bool used = true;       ///< Cleared where the bundle finds it to be an outlier.
};

}  // namespace holdshelf
