// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "catalog/bolt_advice.h"
#include "catalog/library.h"
#include "proto/climb.pb.h"
#include "proto/gym.pb.h"

namespace holdshelf {

/// Asks for a panel of the zone; without a name for its main one and for those fixed otherwise.
/// @throws BadInput  There is no such panel.
void askForZone(const Zone& zone, const std::string& panel, BoltQuestion& question);

/// The bolt questions of a climb: for a mounted hold its panel, else the zone's main one and those
/// that are fixed otherwise.
std::vector<BoltQuestion> climbBoltQuestions(const Library& library, const Climb& climb);

/// What to fetch, by bin in walking order, with the bolts.
/// @param head, bolts_at_hand  As in BoltQuestion, for all of its holds.
/// @throws BadInput  There is no such climb.
PickList pickList(const Library& library, const std::string& id, const BoltSettings& settings = {},
                  const std::vector<BoltStock>* stock = nullptr,
                  BoltHead head = BOLT_HEAD_UNSPECIFIED, Thread bolts_at_hand = THREAD_UNSPECIFIED);
std::string pickText(const PickList& list);

/// "A2" before "A10"; bins of the walking order first.
bool binBefore(const Gym& gym, const std::string& a, const std::string& b);

}  // namespace holdshelf
