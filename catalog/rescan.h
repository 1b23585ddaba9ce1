// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "proto/event.pb.h"
#include "proto/gym.pb.h"

namespace holdshelf {

/// What a hold has gone through since its last scan, and whether it should be scanned anew.
struct RescanDue {
  double days_on_wall = 0;  ///< All climbs together.
  int climbs = 0;
  bool due = false;
  std::string reason;  ///< "203 days on the wall since its last scan (180)"; empty: not due.
};

/// From the hold's events, in order. Time on the wall runs from the move to the wall to the next
/// move, or to `now` (RFC 3339, UTC); being mounted anew in one climb counts as one.
RescanDue rescanDue(const std::vector<Event>& history, const Gym& gym, const std::string& now);

}  // namespace holdshelf
