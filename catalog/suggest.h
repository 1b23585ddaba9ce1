// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "catalog/grip_thresholds.h"
#include "catalog/library.h"
#include "catalog/wish_miss.h"
#include "proto/climb.pb.h"

namespace holdshelf {

/// Holds on the shelf, of the climb's colour, for each wish, judged at the wall angle of every
/// panel of the zone by their stored grip maps and edges; each offer says which panel it fits best
/// (of equals the one with most T-nuts). No hold is chosen for two wishes; what others have in
/// crates or on walls is not offered, only counted. With a spread of sizes the chosen of one wish
/// differ in longest extent as much as they can. A wish that cannot be met names the holds of the
/// whole library that miss it least, and every limit that excludes each.
/// @throws BadInput  A wish that is not understood; no such climb or zone.
Suggestions suggestHolds(const Library& library, const std::string& climb,
                         const std::string& wishes, int others = 3,
                         const GripThresholds& thresholds = {});

/// Whether a hold's colour is the one wanted: its name, or its basic term ("red" for "vivid red").
/// An empty wish is any colour.
bool colourFits(const std::string& colour, const std::string& wanted);

}  // namespace holdshelf
