// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <CLI/CLI.hpp>
#include <optional>
#include <string>
#include <vector>

#include "catalog/grip_thresholds.h"
#include "catalog/hand_model.h"
#include "catalog/mounting.h"

namespace holdshelf {

/// What the commands that judge grips have in common.
struct GripOptions {
  std::optional<double> rotation_deg, wall_angle_deg, pull_deg;
  std::string hand = "midway:50";
  std::vector<std::string> thresholds;  ///< Each name=value.

  bool asksMounting() const { return rotation_deg || wall_angle_deg || pull_deg; }
  /// @throws BadInput  An angle no wall has.
  Mounting mounting() const;
  /// @throws BadInput  Not women, men or midway with a percentile.
  HandModel handModel() const;
  /// @throws BadInput  No such threshold.
  GripThresholds gripThresholds() const;
};

/// --wall-angle, --hand, --threshold; with `whole_mounting` also --rotation and --pull.
void addGripOptions(CLI::App* command, GripOptions& options, bool whole_mounting);

}  // namespace holdshelf
