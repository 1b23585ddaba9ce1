// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "catalog/grip_thresholds.h"
#include "catalog/library.h"
#include "mesh/progress.h"
#include "proto/climb.pb.h"

namespace holdshelf {

/// What a swap should be like, as commands name it:
/// - "lower": the same lip on a hold that sticks out less, has three quarters of the edge's width
/// or
///   more, and is no better a platform to press down or stand up on. The lips' sections are laid on
///   each other and ranked as search by example does (lip_probe.h), by the gap between them in mm,
///   1.5 mm at the most (a judgement);
/// - "smaller": the same feel (kind of grip, holding force, lip) on a smaller hold;
/// - "harder": the same kind of grip, one notch worse for the hand (a judgement: 0.12 of a jug);
/// - "foot": stands for a toe and gives hands less.
/// Candidates are on the shelf and of the climb's colour unless `any_colour`; each is turned to
/// where it answers best. Best first, with what changes in numbers. None is explained.
/// @throws BadInput  No such climb, hold or kind of swap; the hold is not in the climb.
/// @throws Interrupted  `progress` said stop.
SwapList findSwaps(const Library& library, const std::string& climb, const std::string& hold,
                   const std::string& like, bool any_colour = false, int limit = 5,
                   const GripThresholds& thresholds = {}, const Progress& progress = {});

std::string swapText(const SwapList& list);

}  // namespace holdshelf
