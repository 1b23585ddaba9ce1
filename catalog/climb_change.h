// SPDX-License-Identifier: Apache-2.0
// What the operations on climbs are made of: one commit each, whose events are made from what is
// true inside its transaction.
#pragma once
#include <functional>
#include <string>
#include <vector>

#include "catalog/climb_conflict.h"
#include "catalog/library.h"
#include "proto/climb.pb.h"

namespace holdshelf {

Event climbEvent(const std::string& climb, const ClimbChange& change);
Event moveEvent(const std::string& hold, const Move& move);
Move toCrate(const std::string& climb);
Move toStatus(Status status);
Move toWall(const Climb& climb, const Placement& placement);

/// Where a hold is and who has it: "in a crate C-0002 (yellow 12, Maren)".
std::string whereabouts(const Library& library, const Hold& hold);
/// Whether the hold is where this climb has it.
bool isHere(const Hold& hold, const std::string& climb);

/// @throws BadInput  The hold is not on the shelf; the sentence says who has it.
void checkFree(const Library& library, const std::string& hold);
/// @throws BadInput  The hold is not in the climb, or was recorded elsewhere since.
void checkHeld(const Library& library, const Climb& climb, const std::string& hold);

/// One commit on a climb that is not stripped. `make` is called inside the transaction with the
/// climb as it then is: it throws to refuse, and what it reads stays true until the commit.
/// @param allowed  Asked first of all; may be empty.
/// @return  The climb after it.
Climb changeClimb(Library& library, const std::string& id, const ClimbAllowed& allowed,
                  const std::function<std::vector<Event>(const Climb&)>& make);

}  // namespace holdshelf
