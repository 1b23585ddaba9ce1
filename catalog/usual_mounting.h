// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>
#include <vector>

#include "catalog/mounting.h"
#include "proto/event.pb.h"

namespace holdshelf {

/// The mounting in which a hold was put on the wall most often, as its moves tell, to whole
/// degrees; of two as frequent ones the later. nullopt where they tell of none.
std::optional<Mounting> usualMounting(const std::vector<Event>& events);

}  // namespace holdshelf
