// SPDX-License-Identifier: Apache-2.0
#pragma once
#include "proto/climb.pb.h"

namespace holdshelf {

/// Whether what somebody set aside is another finding by now, or worse by more than one difference
/// that matters. Of what was set aside before that was kept, nobody knows; and of two bolts that
/// cannot be judged, what was said of one says nothing of the other.
bool isWorse(const ClimbCheck& now, const Dismissal& then);

/// Marks the checks of a climb that somebody set aside, or that are open again though somebody did,
/// and puts those set aside last; counts the open ones. Of several dismissals of one check the last
/// counts; an outdated one, of a hold that was mounted anew, does not.
void applyDismissals(const Climb& climb, ClimbChecks& checks);

}  // namespace holdshelf
