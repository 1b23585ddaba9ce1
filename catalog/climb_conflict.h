// SPDX-License-Identifier: Apache-2.0
#pragma once
#include "proto/climb.pb.h"

namespace holdshelf {

/// Whether what somebody did to a climb meanwhile makes a change one that was asked for without
/// knowing. Changes of different holds do not disturb each other, and neither do notes; opening and
/// stripping concern all holds.
bool disturbs(const ClimbChange& meanwhile, const ClimbChange& wanted);

}  // namespace holdshelf
