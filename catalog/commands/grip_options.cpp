// SPDX-License-Identifier: Apache-2.0
#include "catalog/commands/grip_options.h"

#include <cmath>
#include <cstdlib>

#include "mesh/bad_input.h"

namespace holdshelf {

Mounting GripOptions::mounting() const {
  const Mounting m{rotation_deg.value_or(0), wall_angle_deg.value_or(0), pull_deg.value_or(0)};
  if (!std::isfinite(m.rotation_deg) || !std::isfinite(m.pull_deg))
    throw BadInput("--rotation and --pull need angles in degrees.");
  if (!(m.wall_angle_deg >= -20 && m.wall_angle_deg <= 60))
    throw BadInput("--wall-angle takes -20 (slab) to 60 (overhang) degrees past vertical.");
  return m;
}

HandModel GripOptions::handModel() const {
  const auto colon = hand.find(':');
  const std::string people = hand.substr(0, colon);
  const std::string percentile = colon == std::string::npos ? "50" : hand.substr(colon + 1);
  char* end = nullptr;
  const double number = std::strtod(percentile.c_str(), &end);
  const bool known = people == "women" || people == "men" || people == "midway";
  if (!known || percentile.empty() || *end != '\0')
    throw BadInput("--hand takes women, men or midway, with a percentile if wanted: women:5.");
  return holdshelf::handModel(people == "women" ? People::Women
                              : people == "men" ? People::Men
                                                : People::Midway,
                              number);
}

GripThresholds GripOptions::gripThresholds() const {
  GripThresholds all;
  for (const std::string& assignment : thresholds) setThreshold(all, assignment);
  return all;
}

void addGripOptions(CLI::App* command, GripOptions& options, bool whole_mounting) {
  const char* group = "Grips in a mounting";
  command
      ->add_option("--wall-angle", options.wall_angle_deg,
                   "Wall past vertical: -20 slab to 60 overhang (0)")
      ->type_name("DEG")
      ->group(group);
  if (whole_mounting) {
    command->add_option("--rotation", options.rotation_deg, "Hold turned counter-clockwise (0)")
        ->type_name("DEG")
        ->group(group);
    command
        ->add_option("--pull", options.pull_deg,
                     "Pull counter-clockwise from straight down: 90 right, -90 left, 180 up (0)")
        ->type_name("DEG")
        ->group(group);
  }
  command->add_option("--hand", options.hand, "women, men or midway, and percentile (midway:50)")
      ->type_name("WHOSE")
      ->group(group);
  command
      ->add_option("--threshold", options.thresholds,
                   "Change a parameter of catalog/grips.md, e.g. too_grabbable=0.25")
      ->type_name("NAME=VALUE")
      ->group(group);
}

}  // namespace holdshelf
