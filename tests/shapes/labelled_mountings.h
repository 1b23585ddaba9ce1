// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "tests/shapes/holds.h"

namespace holdshelf {

/// One mounting of an exactly known hold with the word that published facts or common practice give
/// it, argued beside it. Labels were written before the program was asked.
struct LabelledMounting {
  std::string hold;  ///< Key for labelledHold().
  double rotation_deg = 0, wall_angle_deg = 0, pull_deg = 0;
  std::string label;     ///< jug, edge, crimp, pocket, sloper, pinch, foot-only or nothing.
  std::string argument;  ///< Why, with its source; "common practice" has none.
};

/// All of them. Even places (0, 2, ...) are for tuning, odd places for judging; parameters have
/// never been changed because of an odd one.
const std::vector<LabelledMounting>& labelledMountings();

/// The exact solid behind a key.
/// @throws std::invalid_argument  No such key.
ExactHold labelledHold(const std::string& key);

}  // namespace holdshelf
