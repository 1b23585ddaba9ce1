// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "catalog/grip_thresholds.h"
#include "proto/grip_map.pb.h"

namespace holdshelf {

/// A hold's words in every mounting as one picture: rotation runs around counter-clockwise from the
/// top as the hold turns, wall angle outwards from slab to overhang. Every cell carries its word as
/// a letter, every larger area its word and the strongest force in it; shades only help: the
/// stronger, the darker.
///
/// @return  An SVG of its own, 1000 by 1060 px.
/// @throws BadInput  The map was made by another version of the mechanics.
std::string gripRoseSvg(const GripMap& map, const std::string& title,
                        const GripThresholds& thresholds = {});

/// The same picture as a PNG file's bytes, 2000 by 2120 px.
/// @throws BadInput  As above.
std::string gripRosePng(const GripMap& map, const std::string& title,
                        const GripThresholds& thresholds = {});

}  // namespace holdshelf
