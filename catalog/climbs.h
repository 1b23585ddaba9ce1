// SPDX-License-Identifier: Apache-2.0
// A setter's night, as operations on a library: plain data in, messages out. Each change is one
// commit, whole or not at all; whether a hold is free is decided inside it, so that of two people
// who want one hold at the same moment exactly one gets it and the other is told who has it.
#pragma once
#include <string>
#include <vector>

#include "catalog/climb_pick.h"
#include "catalog/climb_strip.h"
#include "catalog/library.h"
#include "proto/climb.pb.h"

namespace holdshelf {

/// @throws BadInput  There is no such climb; every function below does so too.
Climb climbOf(const Library& library, const std::string& id);
/// All climbs, the newest first; stripped ones only when asked for.
ClimbList listClimbs(const Library& library, bool stripped);
/// The climb's events, oldest first.
EventList climbHistory(const Library& library, const std::string& id);

/// Starts a crate: name, colour, zone, grade and setter are the caller's; it gets the next id.
/// @throws BadInput  The zone is not described.
Climb startClimb(Library& library, const Climb& wanted);

/// Puts holds into the crate. `what` gives wish and foot for all of them.
/// @throws BadInput  One is not on the shelf (the sentence says who has it), or the climb is
///                   stripped; then none is added.
Climb addHolds(Library& library, const std::string& id, const std::vector<std::string>& holds,
               const ClimbHold& what = {});
/// Puts so many pieces of each lot into the crate; the others stay on the shelf. Fewer than all
/// become a hold of their own, last in the climb's list.
/// @throws BadInput  As above, or a lot has fewer pieces on the shelf by now.
Climb addPieces(Library& library, const std::string& id, const std::vector<std::string>& lots,
                int pieces, const ClimbHold& what = {});
/// Puts holds back on the shelf; pieces of a lot that were never mounted join it again. @throws
/// BadInput  One is not in this climb.
Climb dropHolds(Library& library, const std::string& id, const std::vector<std::string>& holds);
/// Takes `in` from the shelf for `out`, which goes back to it. A mounted hold hands its place on,
/// at `rotation_deg`; the bolt is to be recorded anew. Of a lot as many pieces are taken as leave.
Climb swapHold(Library& library, const std::string& id, const std::string& out,
               const std::string& in, double rotation_deg);

/// Records where a hold of the climb is mounted; it is then on the wall. A bolt that was recorded
/// for a panel fixed otherwise no longer counts. Of a lot in the crate one
/// piece is mounted, as a hold of its own; the others stay in the crate.
/// @throws BadInput  No such panel or T-nut in the climb's zone, or neither T-nut nor note.
Climb placeHold(Library& library, const std::string& id, const std::string& hold,
                const Placement& placement);
/// The same, giving the id of what was mounted.
std::string placePiece(Library& library, const std::string& id, const std::string& hold,
                       const Placement& placement);
/// Records the bolt that was used. @throws BadInput  The text is empty.
Climb recordBolt(Library& library, const std::string& id, const std::string& hold,
                 const std::string& bolt);
/// Says whether a hold is meant as a foothold only.
Climb useAs(Library& library, const std::string& id, const std::string& hold, bool foot);
/// A test climb's note, on one hold or (empty) on all of it; with where the hold was mounted.
Climb noteClimb(Library& library, const std::string& id, const std::string& hold,
                const std::string& text);
/// Sets a check aside. The reason is kept with the climb, and what the check said then.
/// @throws BadInput  It is empty, or the check is not open.
Climb dismissCheck(Library& library, const std::string& id, const std::string& check,
                   const std::string& hold, const std::string& reason);
/// @throws BadInput  A hold is still in the crate.
Climb openClimb(Library& library, const std::string& id);

/// What a mounting gives hands and feet, for every placed hold of the climb; of one without a scan
/// that it is not judged.
ClimbView viewClimb(const Library& library, const std::string& id);

}  // namespace holdshelf
