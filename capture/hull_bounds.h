// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Geometry>
#include <vector>

#include "capture/carve_grid.h"
#include "capture/view.h"

namespace holdshelf {

/// Where the views look together: the point nearest to the rays through the masks' middles, and
/// how far from it the masks reach.
struct Gaze {
  Eigen::Vector3d centre;
  double radius_mm;
};

/// @throws BadInput  No view has that point before it.
Gaze commonGaze(const std::vector<View>& views);

/// The box cut off below a height.
Eigen::AlignedBox3d aboveFloor(Eigen::AlignedBox3d box_mm, double floor_z_mm);

/// Shrinks a box round what the views can show together, by carving coarsely in it, up to three
/// times; empty: nothing. The hull lies inside, a thin part that passes between samples too.
Eigen::AlignedBox3d shrunkToHull(Eigen::AlignedBox3d box_mm, const Carver& carver);

}  // namespace holdshelf
