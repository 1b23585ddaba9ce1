// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <array>
#include <vector>

#include "catalog/grip_kind.h"
#include "catalog/grip_thresholds.h"
#include "proto/grip_map.pb.h"

namespace holdshelf {

/// What a hold is in one mounting, pulled straight down.
struct WordCell {
  GripKind kind = GripKind::None;
  double fraction = 0;  ///< Force: of a large jug, or of a deep edge where it serves feet only.
};

using WordCells =
    std::vector<std::vector<WordCell>>;  ///< [wall angle][rotation], as the map's steps.

/// The word of every mounting: foot-only where hands get little and a toe stands, else the hand's.
/// @throws BadInput  The map was made by another version of the mechanics.
WordCells wordCells(const GripMap& map, const GripThresholds& thresholds = {});

/// Cells of one word that touch, rotation wrapping around.
struct GripArea {
  GripKind kind;
  double strongest = 0;                   ///< The largest fraction in it.
  std::vector<std::array<int, 2>> cells;  ///< Wall angle, rotation.
};

/// The areas of a map, in the order of their first cells; mountings without a word are in none.
/// @param cells  As many rotations at each wall angle; at least one cell.
std::vector<GripArea> gripAreas(const WordCells& cells);

}  // namespace holdshelf
