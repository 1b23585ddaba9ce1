// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "proto/event.pb.h"

namespace holdshelf {

/// What happened, without hold, time and who: "moved to the wall, zone slab".
std::string eventText(const Event& event);

}  // namespace holdshelf
