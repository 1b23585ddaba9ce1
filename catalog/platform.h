// SPDX-License-Identifier: Apache-2.0
#pragma once
#include "catalog/grip_thresholds.h"
#include "catalog/hand_model.h"
#include "proto/grip_verdict.pb.h"
#include "proto/shape.pb.h"

namespace holdshelf {

/// How good a platform a top edge gives a palm that presses down or a heel and foot that stand up
/// on it. Near the top of a climb with a top-out a low one is wanted (common practice, no source).
///
/// The platform is the part of the grip face that slopes less than platform_slope_deg outwards at
/// the wall angle; a palm's share is min(1, depth / platform_palm_mm) min(1, width / hand breadth),
/// a heel's min(1, depth / platform_heel_mm) min(1, width / platform_heel_mm); the level is that of
/// the larger of the two.
Platform platformOf(const Grip& grip, double wall_angle_deg, const HandModel& hand,
                    const GripThresholds& thresholds);

}  // namespace holdshelf
