// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "catalog/bolt_length.h"
#include "catalog/library.h"
#include "proto/climb.pb.h"
#include "proto/gym.pb.h"

namespace holdshelf {

/// The bolt questions of a climb: for a mounted hold its panel, else the zone's main one.
std::vector<BoltQuestion> climbBoltQuestions(const Library& library, const Climb& climb);

/// What to fetch, by bin in walking order, with the bolts.
/// @throws BadInput  There is no such climb.
PickList pickList(const Library& library, const std::string& id, const BoltSettings& settings = {},
                  const std::vector<BoltStock>* stock = nullptr);
std::string pickText(const PickList& list);

/// "A2" before "A10"; bins of the walking order first.
bool binBefore(const Gym& gym, const std::string& a, const std::string& b);

}  // namespace holdshelf
