// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "catalog/bolt_advice.h"
#include "proto/bolt.pb.h"

namespace holdshelf {

/// All of a crate's bolts, drawn from one stock in order, and the bag to pack.
/// @throws BadInput  A line of the stock has no thread and the panels have both.
BoltBag packBolts(const std::vector<BoltQuestion>& questions, const BoltSettings& settings,
                  const std::vector<BoltStock>* stock = nullptr);

/// What goes with every advice on bolts.
std::vector<std::string> boltCautions();

/// The bag as people read it.
std::string boltText(const BoltBag& bag);

}  // namespace holdshelf
