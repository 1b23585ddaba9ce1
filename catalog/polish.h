// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Geometry>
#include <string>

#include "mesh/texture_cells.h"
#include "proto/wear.pb.h"

namespace holdshelf {

/// When a place is called polished. Judgements, from rendered captures of unpolished holds
/// (tests/bench/README.md, Wear).
struct PolishLimits {
  double contrast_left = 0.7;  ///< At most this share of the contrast is left,
  double spreads = 4;          ///< and the loss is so many robust spreads of all cells,
  double sigmas = 3;           ///< and so many of its own standard uncertainties;
  double area_mm2 = 120;       ///< over at least so much of the surface that hangs together.
  double reach_mm = 7;         ///< Cells of the two scans farther apart are not compared.
};

/// Where the texture shows less contrast than in the first scan: a hint of polish that the shape
/// does not give. What all of the hold lost or won is the light's and the camera's doing and is
/// taken out, so that a hold polished all over is not found; chalk and dirt look like polish.
/// @param T_baseline_later  Brings the later scan onto the baseline.
Polish comparePolish(const TextureCells& baseline, const TextureCells& later,
                     const Eigen::Affine3d& T_baseline_later, const PolishLimits& limits = {});

/// Marks the chunks that lie where the texture is rubbed off: the shape of a smooth spot is rebuilt
/// badly, so that what seems gone there may be there still (tests/bench/README.md, Wear).
void markRubbedChunks(Wear& wear);

/// "texture rubbed to 0.45 ± 0.05 of its contrast over 3 cm² at x 12, y 20, z 36 mm"; empty without
/// a spot.
std::string polishText(const Polish& polish);

}  // namespace holdshelf
