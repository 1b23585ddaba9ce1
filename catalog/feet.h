// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <span>
#include <string>

#include "catalog/grip_model.h"
#include "proto/grip_verdict.pb.h"

namespace holdshelf {

/// A hold that is asked whether it serves as a foothold. Pointers must outlive the call.
struct FootCandidate {
  std::string hold_id, name, bin;
  const Shape* shape = nullptr;
};

/// Holds, each at its best rotation, that serve a toe at a wall angle and are not too grabbable,
/// best first: those that are so beyond their uncertainties before the borderline ones, then by the
/// toe's fraction times what the strongest hand grip is short of a jug. Both sides are explained in
/// numbers. Holds that fail follow with the side they fail on, most useful
/// first, so that "why not this one" is answered too.
FootRanking rankFeet(std::span<const FootCandidate> candidates, double wall_angle_deg,
                     const HandModel& hand = handModel(), const GripThresholds& thresholds = {});

}  // namespace holdshelf
