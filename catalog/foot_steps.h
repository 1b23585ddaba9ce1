// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <array>
#include <vector>

#include "catalog/grip_model.h"

namespace holdshelf {

/// A hold at one rotation, seen as hand- and foothold at once.
struct FootStep {
  HoldingForce plain;               ///< Strongest under a straight downward pull.
  std::vector<HoldingForce> hands;  ///< All that deserve a word under it, plain among them.
  HandAnswer reach;                 ///< Strongest over every pull within hand_pull_fan_deg.
  ToeHold toe;
  /// A toe stands, and reach is not more than too_grabbable. Of the hands' words then only pockets
  /// remain, unless reach lies within its uncertainty of too_grabbable.
  bool serves = false;
};

/// All rotations in steps of 5 degrees, from 0, at a wall angle. A pull to the side by p is the
/// straight pull of the hold turned back by p, so that 72 grips answer for every pull.
std::array<FootStep, GripModel::kSteps> footSteps(const GripModel& model, double wall_angle_deg);

/// Every word of one mounting, strongest first; foot-only, where it is so for the straight pull,
/// before all others. Empty when it is good for nothing.
std::vector<GripKind> wordsAt(const GripModel& model, const Mounting& mounting);

/// The step for any angle, wrapped.
std::size_t stepIndex(int step);

}  // namespace holdshelf
