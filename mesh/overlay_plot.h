// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <string>
#include <vector>

#include "mesh/pen.h"

namespace holdshelf {

/// Two lips laid on each other, point beside point: x away from the wall, y up against the pull,
/// mm.
struct OverlayPlot {
  std::vector<Eigen::Vector2d> wanted_mm, found_mm;
  std::string wanted_words, found_words;  ///< "lip of H-0123", "H-0456 Harbour ledge, turned 30°".
  std::string caption;                    ///< One line above the picture.
};

/// Draws both to scale, the wall to the left and the pull downwards: the found one solid, the
/// wanted one dashed, with the largest gap between them dimensioned, and the usual gap in words.
/// @throws BadInput  The lines have fewer than two points, or not equally many.
Plot plotOverlay(const OverlayPlot& overlay);

}  // namespace holdshelf
