// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "catalog/bolt_length.h"
#include "catalog/grip_thresholds.h"
#include "catalog/library.h"
#include "mesh/progress.h"
#include "proto/climb.pb.h"

namespace holdshelf {

/// Looks over a climb, hold by hold, and says what a head setter would ask about:
/// - "place": not mounted yet, or recorded elsewhere meanwhile;
/// - "bolt": none recorded, or one that does not fit the panel it is in (thread, too short, too
///   long), or that cannot be judged;
/// - "scan": no scan, so that what follows is not judged;
/// - "feet": meant as a foothold but too grabbable where it hangs, with the rotation or the swap
///   that cures it;
/// - "top-out": near a top edge (or perhaps so, placed by a note) and a high platform to press down
///   or stand up on, with swaps that keep the lip and are lower;
/// - "sharp": the lip under the hand is sharper than skin bears;
/// - "worn": the last scan against the first says worn, worn out or chipped.
/// Every reason is in numbers. A cure is offered only after it was judged in the same mounting and
/// passes. Checks that somebody set aside come last, with the reason, until the hold is mounted
/// anew, something else is found or it is worse than it was then: then they are open again.
/// @throws Interrupted  `progress` said stop; so does openCheck.
/// @param bolts  What bolts were chosen by: washer, thread to engage and the like.
ClimbChecks checkClimb(const Library& library, const std::string& climb,
                       const GripThresholds& thresholds = {}, const Progress& progress = {},
                       const BoltSettings& bolts = {});

/// The one check, where it is open; without cures.
/// @throws BadInput  It is not: passed, or set aside already, or the hold is not in the climb.
ClimbCheck openCheck(const Library& library, const std::string& climb, const std::string& kind,
                     const std::string& hold, const GripThresholds& thresholds = {},
                     const Progress& progress = {});

std::string checksText(const ClimbChecks& checks);

}  // namespace holdshelf
