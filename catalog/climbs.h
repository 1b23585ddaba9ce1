// SPDX-License-Identifier: Apache-2.0
// A setter's night, as operations on a library: plain data in, messages out. Each change is one
// commit, whole or not at all; whether a hold is free is decided inside it, so that of two people
// who want one hold at the same moment exactly one gets it and the other is told who has it.
#pragma once
#include <functional>
#include <string>
#include <vector>

#include "catalog/bolt_length.h"
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
/// Puts holds back on the shelf. @throws BadInput  One is not in this climb.
Climb dropHolds(Library& library, const std::string& id, const std::vector<std::string>& holds);
/// Takes `in` from the shelf for `out`, which goes back to it. A mounted hold hands its place on,
/// at `rotation_deg`; the bolt is to be recorded anew.
Climb swapHold(Library& library, const std::string& id, const std::string& out,
               const std::string& in, double rotation_deg);

/// Records where a hold of the climb is mounted; it is then on the wall.
/// @throws BadInput  No such panel or T-nut in the climb's zone, or neither T-nut nor note.
Climb placeHold(Library& library, const std::string& id, const std::string& hold,
                const Placement& placement);
/// Records the bolt that was used. @throws BadInput  The text is empty.
Climb recordBolt(Library& library, const std::string& id, const std::string& hold,
                 const std::string& bolt);
/// Says whether a hold is meant as a foothold only.
Climb useAs(Library& library, const std::string& id, const std::string& hold, bool foot);
/// A test climb's note, on one hold or (empty) on all of it.
Climb noteClimb(Library& library, const std::string& id, const std::string& hold,
                const std::string& text);
/// Sets a check aside. The reason is kept with the climb. @throws BadInput  It is empty.
Climb dismissCheck(Library& library, const std::string& id, const std::string& check,
                   const std::string& hold, const std::string& reason);
/// @throws BadInput  A hold is still in the crate.
Climb openClimb(Library& library, const std::string& id);

/// Where the climb's holds would go, and which are due for a new scan.
StripList stripList(const Library& library, const std::string& id, const std::string& to);
/// Sends them there: to "wash" or "shelf". Holds recorded elsewhere meanwhile are left there.
StripList stripClimb(Library& library, const std::string& id, const std::string& to);

/// The bolt questions of a climb: for a mounted hold its panel, else the zone's main one.
std::vector<BoltQuestion> climbBoltQuestions(const Library& library, const Climb& climb);

/// What to fetch, by bin in walking order, with the bolts.
PickList pickList(const Library& library, const std::string& id, const BoltSettings& settings = {},
                  const std::vector<BoltStock>* stock = nullptr);
std::string pickText(const PickList& list);

/// What a mounting gives hands and feet, for every placed hold of the climb.
ClimbView viewClimb(const Library& library, const std::string& id);

/// "A2" before "A10"; bins of the walking order first.
bool binBefore(const Gym& gym, const std::string& a, const std::string& b);

std::string stripText(const StripList& list);

}  // namespace holdshelf
