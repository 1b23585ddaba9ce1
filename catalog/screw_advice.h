// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <vector>

#include "catalog/bolt_length.h"
#include "proto/bolt.pb.h"
#include "proto/shape.pb.h"

namespace holdshelf {

/// The pieces' screw holes among the seats, those whose height was measured.
std::vector<BoltSeat> screwSeats(const std::vector<BoltSeat>& seats);

/// Wood screws for a piece that has screw holes only: the longest whose tip stays in the panel
/// under the lowest hole, how much of it the panel holds under the highest, and the pilot hole to
/// drill. Common practice, no source; the judgements are settings.
/// @param seats  At least one, each with its height.
void adviseScrews(const std::vector<BoltSeat>& seats, const Panel& panel,
                  const BoltSettings& settings, BoltAdvice& advice);

}  // namespace holdshelf
