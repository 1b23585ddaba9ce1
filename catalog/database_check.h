// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "catalog/library.h"
#include "proto/check.pb.h"

namespace holdshelf {

/// Faults of a library's database: by its own check, and measured against the events of the batches
/// that count (catalog/batch_chain.h): its events, the batches it lists, every hold against the
/// fold of its events, and what search knows of it. Throws nothing of what damage brings about.
/// @throws StoreError  The database fails without being damaged.
void checkDatabase(const Library& library, const std::vector<std::string>& batches,
                   const std::vector<Event>& events, CheckReport& report);

/// Events of the database after those of the batches: a batch is lost, its events are not. Those
/// that cannot be read are left out.
/// @throws StoreError  The database fails without being damaged.
std::vector<Event> eventsBeyond(const Library& library, const std::vector<Event>& events);

}  // namespace holdshelf
