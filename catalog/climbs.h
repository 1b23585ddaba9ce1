// SPDX-License-Identifier: Apache-2.0
// A setter's night, as operations on a library: plain data in, messages out. Each change is one
// commit, whole or not at all; whether a hold is free is decided inside it, so that of two people
// who want one hold at the same moment exactly one gets it and the other is told who has it.
// So is `allowed`, which is asked inside it first of all.
#pragma once
#include <string>
#include <vector>

#include "catalog/climb_conflict.h"
#include "catalog/climb_pick.h"
#include "catalog/climb_place.h"
#include "catalog/climb_strip.h"
#include "catalog/crate_holds.h"
#include "catalog/library.h"
#include "mesh/progress.h"
#include "proto/climb.pb.h"

namespace holdshelf {

/// @throws BadInput  There is no such climb; every function below does so too.
Climb climbOf(const Library& library, const std::string& id);
/// All climbs, the newest first; stripped ones only when asked for.
ClimbList listClimbs(const Library& library, bool stripped);
/// The climb's events, oldest first.
EventList climbHistory(const Library& library, const std::string& id);

// What people write is kept as it can be shown (shown_text.h); what is too long is BadInput.

/// Starts a crate: name, colour, zone, grade and setter are the caller's; it gets the next id.
/// @throws BadInput  The zone is not described.
Climb startClimb(Library& library, const Climb& wanted);

/// Records the bolt that was used. @throws BadInput  The text is empty.
Climb recordBolt(Library& library, const std::string& id, const std::string& hold,
                 const std::string& bolt, const ClimbAllowed& allowed = {});
/// Says whether a hold is meant as a foothold only.
Climb useAs(Library& library, const std::string& id, const std::string& hold, bool foot,
            const ClimbAllowed& allowed = {});
/// A test climb's note, on one hold or (empty) on all of it; with where the hold was mounted.
Climb noteClimb(Library& library, const std::string& id, const std::string& hold,
                const std::string& text, const ClimbAllowed& allowed = {});
/// Sets a check aside. The reason is kept with the climb, and what the check said then. That is
/// found out before the commit, as for a check of wear it takes seconds; `allowed` is asked before
/// that, too.
/// @throws BadInput     It is empty, or the check is not open.
/// @throws Interrupted  `progress` said stop.
Climb dismissCheck(Library& library, const std::string& id, const std::string& check,
                   const std::string& hold, const std::string& reason,
                   const Progress& progress = {}, const ClimbAllowed& allowed = {});
/// @throws BadInput  A hold is still in the crate.
Climb openClimb(Library& library, const std::string& id, const ClimbAllowed& allowed = {});

/// What a mounting gives hands and feet, for every placed hold of the climb; of one without a scan
/// that it is not judged.
ClimbView viewClimb(const Library& library, const std::string& id);

}  // namespace holdshelf
