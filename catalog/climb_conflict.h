// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <functional>
#include <vector>

#include "proto/climb.pb.h"
#include "proto/event.pb.h"

namespace holdshelf {

/// Whether what somebody did to a climb meanwhile makes a change one that was asked for without
/// knowing. Changes of different holds do not disturb each other, and neither do notes; opening and
/// stripping concern all holds.
bool disturbs(const ClimbChange& meanwhile, const ClimbChange& wanted);

/// Asked inside the transaction of a change, with all that was done to the climb so far, which
/// stays all until the commit; throws to refuse the change.
using ClimbAllowed = std::function<void(const std::vector<Event>& so_far)>;

}  // namespace holdshelf
