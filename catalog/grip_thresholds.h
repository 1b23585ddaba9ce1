// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <span>
#include <string>
#include <string_view>

namespace holdshelf {

/// Every number that the judgement of grips rests on, in one place. Defaults are stated with their
/// source in thresholdTable(), which the program prints and catalog/grips.md quotes; where
/// publications give none the source reads "judgement". Lengths mm, angles degrees, fractions of
/// the same hand on a large jug (or of the same shoe on a deep flat edge).
struct GripThresholds {
  // Skin and contact.
  double skin_friction = 0.80;
  double skin_friction_sigma = 0.10;
  double contact_end_slope_deg = 45;
  double contact_exponent = 1.3;
  double open_hand_contact = 0.37;
  double half_crimp_contact = 0.335;
  double full_crimp_contact = 0.30;
  double open_hand_ceiling = 0.86;
  double half_crimp_ceiling = 0.83;
  double full_crimp_ceiling = 0.80;
  double pulp_limit_mm = 5;
  double finger_packing = 0.94;
  double sharp_radius_mm = 1.0;
  // Wrapping.
  double wrap_incut_from_deg = 0;
  double wrap_incut_to_deg = 15;
  double wrap_contact_from = 0.75;
  double wrap_contact_to = 1.5;
  double bar_sweep_deg = 150;
  double bar_full_mm = 32;
  double bar_loss_per_mm = 0.0055;
  double hand_room_mm = 35;
  double finger_room_mm = 16;
  // Pinching.
  double jug_newton = 668;
  double pinch_one_newton = 69;
  double pinch_two_newton = 92;
  double pinch_more_newton = 23;
  double pinch_narrow_share = 0.714;
  double pinch_best_from_mm = 50;
  double pinch_best_to_mm = 70;
  double pinch_wide_mm = 90;
  double pinch_wide_share = 0.85;
  double pinch_pull_deg = 60;
  // Feet.
  double rubber_friction = 1.0;
  double rubber_friction_sigma = 0.10;
  double toe_contact_mm = 6;
  double toe_width_mm = 25;
  double toe_longest_mm = 40;
  double toe_fraction = 0.35;
  // Words.
  double min_hand_fraction = 0.15;
  double other_word_share = 0.5;
  double jug_fraction = 0.85;
  double jug_incut_deg = 5;
  double jug_fingers = 3;
  double jug_contact_mm = 28;
  double crimp_contact_mm = 18;
  double sloper_slope_deg = 15;
  double volume_extent_mm = 400;
  double too_grabbable = 0.30;
  double hand_pull_fan_deg = 90;
  // Wall context.
  double platform_slope_deg = 20;
  double platform_palm_mm = 70;
  double platform_heel_mm = 45;
  double platform_low = 0.33;
  double platform_high = 0.67;
  double wrist_bend_deg = 40;
  double forearm_reach_mm = 300;
  double compression_squeeze = 0.6;
};

/// One row of the documented table.
struct ThresholdRow {
  std::string_view name;
  double GripThresholds::*value;
  std::string_view unit;
  std::string_view meaning;
  std::string_view source;
};

/// All rows, in the order of the struct; every member has exactly one.
std::span<const ThresholdRow> thresholdTable();

/// The table as Markdown with the given values.
std::string printThresholds(const GripThresholds& thresholds);

/// Sets one threshold from "name=value".
/// @throws BadInput  No such name, or the value is not a finite number.
void setThreshold(GripThresholds& thresholds, const std::string& assignment);

}  // namespace holdshelf
