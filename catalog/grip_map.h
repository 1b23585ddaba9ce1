// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>

#include "catalog/grip_kind.h"
#include "catalog/grip_model.h"
#include "proto/grip_map.pb.h"

namespace holdshelf {

/// Version of the mechanics behind stored maps; raised whenever a force or a word changes.
constexpr int kGripModelVersion = 4;

/// Forces and words of every mounting: 72 rotations by the wall angles -20, -15, ..., 60. Kept with
/// the scan so that a search can ask for any mounting without the shape. About 10 kB.
///
/// reach_fraction is the largest hand_fraction over the pulls within hand_pull_fan_deg.
GripMap makeGripMap(const GripModel& model);

/// One mounting's stored answer; fractions to 1/200.
struct GripCell {
  GripKind kind = GripKind::None;     ///< Of the strongest grip under the given pull.
  unsigned words = 0;                 ///< Bits 1 << GripKind of every grip under it.
  double hand = 0, hand_sigma = 0;    ///< Of a jug, under the given pull.
  double reach = 0, reach_sigma = 0;  ///< Of a jug, over all pulls within reach.
  double toe = 0, toe_sigma = 0;      ///< Of a deep edge.
};

/// The nearest cell, wall angles clamped to the map's. The pull only bears on kind, words and hand.
/// @return  nullopt for a map of another model version or of damaged size: make it anew.
std::optional<GripCell> lookUp(const GripMap& map, const Mounting& mounting);

/// Every word under which the hold serves hands or feet at a wall angle, as a set of bits
/// 1 << GripKind: the words a straight downward pull gives over all rotations, as gripWords has
/// them.
/// @return  0 for a map that lookUp refuses.
unsigned wordsIn(const GripMap& map, double wall_angle_deg, const GripThresholds& thresholds = {});

/// Mountings to look through: every stored rotation from `from_deg` counter-clockwise to `to_deg`,
/// both included; the default is all of them. Where none is stored between, the one nearest to
/// `from_deg`. The pull bears on hands only, as in Mounting.
struct MountingSpan {
  double from_deg = 0, to_deg = 355;
  double wall_angle_deg = 0, pull_deg = 0;
};

/// A rotation and what the map stores of it.
struct MountedCell {
  double rotation_deg = 0;
  GripCell cell;
};

/// Where in the span a hand holds most; of equals, the first.
/// @return  nullopt for a map that lookUp refuses.
std::optional<MountedCell> bestHand(const GripMap& map, const MountingSpan& span);

/// Where in the span a toe holds most among the rotations that keep hands off (reach at most
/// too_grabbable) and serve a toe (at least toe_fraction); of equals, the first.
/// @return  nullopt when there is none, or for a map that lookUp refuses.
std::optional<MountedCell> bestFoot(const GripMap& map, const MountingSpan& span,
                                    const GripThresholds& thresholds = {});

}  // namespace holdshelf
