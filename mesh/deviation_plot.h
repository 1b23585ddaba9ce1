// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "mesh/deviation.h"
#include "mesh/pen.h"
#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// What has changed on a surface, painted on it as the climber sees it, from above and from below:
/// blue where material seems to be there that was not, red where it is gone, white within the
/// detection limit and grey where nothing was compared. With a legend in mm; the lost pieces are
/// numbered and listed with their volume and depth.
/// @param baseline  The mesh that the deviation belongs to, frame H.
/// @param title     First line of the picture, in bold.
/// @param words     Lines below it.
Plot plotDeviation(const TriangleMesh& baseline, const Deviation& deviation,
                   const std::string& title, const std::vector<std::string>& words);

/// The legend's end: the least of 0.2, 0.5, 1, 2, 5 and 10 mm that the deepest loss and twice the
/// detection limit do not pass.
double deviationScale_mm(const Deviation& deviation);

}  // namespace holdshelf
