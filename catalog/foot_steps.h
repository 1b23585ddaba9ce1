// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <array>

#include "catalog/grip_model.h"

namespace holdshelf {

/// A hold at one rotation, seen as hand- and foothold at once.
struct FootStep {
  HoldingForce plain;  ///< Under a straight downward pull.
  HandAnswer reach;    ///< Strongest over every pull within hand_pull_fan_deg.
  ToeHold toe;
  bool serves = false;  ///< A toe stands, and reach is not more than too_grabbable.
};

/// All rotations in steps of 5 degrees, from 0, at a wall angle. A pull to the side by p is the
/// straight pull of the hold turned back by p, so that 72 grips answer for every pull.
std::array<FootStep, GripModel::kSteps> footSteps(const GripModel& model, double wall_angle_deg);

/// The step for any angle, wrapped.
std::size_t stepIndex(int step);

}  // namespace holdshelf
