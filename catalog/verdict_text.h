// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "proto/grip_verdict.pb.h"

namespace holdshelf {

/// A verdict for people: the sentence, then hand, toe, lip, platform and room, then the cautions.
std::string verdictText(const GripVerdict& verdict);

/// A ranking of footholds for people. @param limit  Most holds shown; 0: all.
/// @param all  Also those that do not qualify, with the side they fail on.
std::string feetText(const FootRanking& ranking, int limit, bool all);

}  // namespace holdshelf
