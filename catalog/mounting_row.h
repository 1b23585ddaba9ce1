// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "catalog/grip_map.h"
#include "catalog/grip_thresholds.h"

namespace holdshelf {

/// What search keeps of a grip map: hand force and foot use at every second rotation (10 degrees)
/// and every second wall angle (-20, -10, ..., 60). A force is to 1/200 of a large jug; a foot's is
/// the toe's fraction where the hold serves a toe and keeps hands off, else 0. Rotations at which
/// there is nothing take no room: at most 658 bytes, typically half.
/// @return  Empty for a map that lookUp() refuses.
std::string packMountings(const GripMap& map, const GripThresholds& thresholds = {});

/// A fraction and the rotation that has it.
struct MountedUse {
  double rotation_deg = 0;
  double fraction = 0;
};

/// Where in the span a hand holds most; wall angles between the kept ones are interpolated.
/// @return  nullopt for a hold of which nothing is known.
std::optional<MountedUse> mostForce(std::string_view packed, const MountingSpan& span);
/// Where in the span a foot stands best without a hand's getting much; fraction 0: nowhere.
std::optional<MountedUse> bestStand(std::string_view packed, const MountingSpan& span);

/// The most of each wall angle over all rotations: no span has more.
struct MostUse {
  static constexpr std::size_t kWallAngles = 9;
  static constexpr double kUnit = 200;
  std::array<std::uint8_t, kWallAngles> hand{}, foot{};  ///< In 1 / kUnit.

  /// The two kept wall angles that an angle is between, by number; the same one twice on one.
  static std::array<std::size_t, 2> beside(double wall_angle_deg);
  bool handMayReach(double wall_angle_deg, double fraction) const;
  bool footMayStand(double wall_angle_deg) const;
};
MostUse mostUse(std::string_view packed);

}  // namespace holdshelf
