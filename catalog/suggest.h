// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>
#include <string>

#include "catalog/grip_thresholds.h"
#include "catalog/library.h"
#include "proto/climb.pb.h"

namespace holdshelf {

/// Holds on the shelf, of the climb's colour, for each wish, judged at the zone's main panel's wall
/// angle by their stored grip maps and edges. No hold is chosen for two wishes; what others have in
/// crates or on walls is not offered, only counted. With a spread of sizes the chosen of one wish
/// differ in longest extent as much as they can. A wish that cannot be met says what is short.
/// @throws BadInput  A wish that is not understood; no such climb or zone.
Suggestions suggestHolds(const Library& library, const std::string& climb,
                         const std::string& wishes, int others = 3,
                         const GripThresholds& thresholds = {});

/// Whether a hold's colour is the one wanted: its name, or its basic term ("red" for "vivid red").
/// An empty wish is any colour.
bool colourFits(const std::string& colour, const std::string& wanted);

/// How far a hold at one rotation is from a wish, in differences that a setter calls small; 0: met.
/// nullopt: another kind of grip.
std::optional<double> wishMiss(const Wish& wish, const Shape& shape, const GripMap& map,
                               double rotation_deg, double wall_angle_deg,
                               const GripThresholds& thresholds);

std::string suggestText(const Suggestions& suggestions);

}  // namespace holdshelf
