// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "catalog/grip_thresholds.h"
#include "proto/climb.pb.h"
#include "proto/grip_map.pb.h"
#include "proto/shape.pb.h"

namespace holdshelf {

/// Another kind of grip than the wished one is never near: it counts for so many small differences.
constexpr double kOtherKind = 6;

/// How far a hold in a mounting is from a wish, limit by limit.
struct WishMiss {
  double distance = 0;              ///< In differences that a setter calls small; 0: met.
  std::vector<std::string> limits;  ///< "incut 0.1 ± 0.4°, not 3° or more".
};
WishMiss missOf(const Wish& wish, const Shape& shape, const GripMap& map, double rotation_deg,
                double wall_angle_deg, const GripThresholds& thresholds);

/// The distance alone.
double missDistance(const Wish& wish, const Shape& shape, const GripMap& map, double rotation_deg,
                    double wall_angle_deg, const GripThresholds& thresholds);

/// The distance; nullopt: another kind of grip, or nothing of what the wish speaks of.
std::optional<double> wishMiss(const Wish& wish, const Shape& shape, const GripMap& map,
                               double rotation_deg, double wall_angle_deg,
                               const GripThresholds& thresholds);

}  // namespace holdshelf
