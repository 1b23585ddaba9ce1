// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <array>
#include <string>
#include <vector>

#include "catalog/foot_steps.h"
#include "catalog/grip_model.h"
#include "proto/grip_verdict.pb.h"

namespace holdshelf {

/// Everything about one mounting: the hand under the given pull, the strongest hand within reach,
/// the toe, whether the hold is too grabbable for a foothold and where it would stop being so, lip,
/// platform, room, and one sentence, e.g. "Too grabbable: flat edge 14.2 ± 0.3 mm deep over 62 mm:
/// four fingers, 0.61 ± 0.02 of a jug; turned to 140°-200° only pinch ...: 0.12".
GripVerdict verdictAt(const GripModel& model, const Mounting& mounting);

/// YES above the threshold, NO below, BORDERLINE within sigma of it, and where the value or its
/// sigma is no number.
GripVerdict::Answer compareWith(double value, double threshold, double sigma);

/// The force with its contributions and reason, as a message.
HandGrip describe(const GripModel& model, const HandAnswer& answer);
ToeStand describe(const GripModel& model, const ToeHold& toe);

/// Rotations at which the hold serves a toe and no hand within reach gets more than too_grabbable,
/// one range a run of steps; the best toe's range first.
std::vector<FootRange> footRanges(const GripModel& model,
                                  const std::array<FootStep, GripModel::kSteps>& steps);

/// "140°-200°", or "45°" for a single step; wraps past 360.
std::string rangeText(const FootRange& range);

}  // namespace holdshelf
