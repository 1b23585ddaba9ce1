// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>

#include "catalog/grip_thresholds.h"
#include "catalog/hand_model.h"
#include "proto/shape.pb.h"

namespace holdshelf {

/// Room around a hand on a lip, seen in the section of that pull.
struct Clearance {
  double room_above_mm = 0;   ///< Free height over the grip face; infinite in the open.
  double wrist_bend_deg = 0;  ///< The hold or wall below the lip bends the hanging wrist by this;
                              ///< negative: hangs free.
  bool fits_hand = true;      ///< The whole hand's thickness fits over the ledge.
  bool wrist_free = true;     ///< The bend stays within wrist_bend_deg.
};

/// Free height over the middle of the grip face, by the section at the grip's rotation: distance
/// along u from the face to the next surface against the pull. Infinite where there is none or the
/// shape carries no section for the grip.
double roomAboveGrip_mm(const Shape& shape, const Grip& grip);

/// Clearance for hand, wrist and forearm. The forearm hangs from the lip straight down at the wall
/// angle; whatever of the hold, or of the wall itself on a slab, lies further out within
/// forearm_reach_mm below the lip pushes the wrist out by that angle.
/// @return  nullopt when the shape carries no section for the grip.
std::optional<Clearance> clearanceOf(const Shape& shape, const Grip& grip, double wall_angle_deg,
                                     const HandModel& hand, const GripThresholds& thresholds);

}  // namespace holdshelf
