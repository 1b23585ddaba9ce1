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
  /// Words that the same argument lets stand beside the label, or first: a mound with a pocket in
  /// it is also a mound.
  std::vector<std::string> also = {};
};

/// Those that parameters may be tuned on. The program's answers to them have been looked at often.
const std::vector<LabelledMounting>& tunedMountings();

/// Those that only judge: of other holds than the tuned ones, written and argued before the program
/// was asked, and asked once. Nothing has been changed because of an answer to them.
const std::vector<LabelledMounting>& judgedMountings();

/// Whether the words given, the strongest first ("foot-only" counts as such), agree: the label is
/// among them, and the first of them is the label or one that may stand beside it.
bool agrees(const LabelledMounting& mounting, const std::vector<std::string>& words);

/// The exact solid behind a key.
/// @throws std::invalid_argument  No such key.
ExactHold labelledHold(const std::string& key);

}  // namespace holdshelf
