// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>

#include "mesh/slope_bands.h"

namespace holdshelf {

/// Where in a patch of pixels a label has most room.
struct LabelRoom {
  Eigen::Vector2d at{0, 0};  ///< Pixel.
  int half = 0;              ///< How far a square of pixels reaches round it without leaving it.
};

/// The pixel that is farthest from the patch's border in the chessboard metric, by two sweeps over
/// its box. Of several (a strip's ridge) the one nearest to their mean, so that a strip is named in
/// its middle.
/// Source: Rosenfeld, Pfaltz, "Distance functions on digital pictures", Pattern Recognition 1,
/// 1968.
LabelRoom labelRoomIn(const SlopeBands& map, const BandPatch& patch);

}  // namespace holdshelf
