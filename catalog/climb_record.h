// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "proto/climb.pb.h"
#include "proto/event.pb.h"

namespace holdshelf {

/// Makes of a climb what the event made of it. Pure: a climb is the fold of its events.
void applyClimbEvent(Climb& climb, const Event& event);
Climb foldClimb(const std::vector<Event>& events);

/// The hold as the climb has it now; nullptr when it does not.
const ClimbHold* heldBy(const Climb& climb, const std::string& hold);

/// "C-0001" of 1.
std::string climbId(std::size_t number);
/// What of the climb events are about: "climb/C-0001". And back: empty where that is no climb.
std::string climbSubject(const std::string& id);
std::string climbOfSubject(const std::string& subject);

/// "packing", "setting", "open", "stripped".
std::string climbStateText(Climb::State state);
/// "column 4, row 9 of wave lower, turned 30°".
std::string placementText(const Placement& placement);
/// One change in words.
std::string climbChangeText(const ClimbChange& change);
/// The whole climb as people read it.
std::string climbText(const Climb& climb);

}  // namespace holdshelf
