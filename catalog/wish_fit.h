// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <functional>
#include <optional>
#include <vector>

#include "catalog/grip_map.h"
#include "proto/climb.pb.h"
#include "proto/gym.pb.h"
#include "proto/hold.pb.h"

namespace holdshelf {

/// A hold in the mounting on one panel that meets a wish best.
struct WishFit {
  double miss = 1e9;  ///< In differences that a setter calls small; 1e9: out of the question.
  double rotation_deg = 0;
  double force = -1;  ///< Of a hand, or (feet) of a toe where hands get little.
  GripCell cell;
  const WallPanel* panel = nullptr;
};

/// How far one mounting is from the wish; nullopt: out of the question.
using MountingMiss =
    std::function<std::optional<double>(double rotation_deg, double wall_angle_deg)>;

/// The zone's panels of different wall angles, the main one first.
std::vector<const WallPanel*> panelsToTry(const Zone& zone);

/// The best fit on each panel: the rotation, in steps of 5 degrees, that misses least; of equals,
/// where a hand (or toe) holds most. The best panel first, of equals the first of `panels`.
std::vector<WishFit> wishFits(const std::vector<const WallPanel*>& panels, const Wish& wish,
                              const Scan& scan, const MountingMiss& miss);

}  // namespace holdshelf
