// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>
#include <functional>

#include "catalog/library_store.h"
#include "proto/event.pb.h"

namespace holdshelf {

/// Visits the events of a database that can still be read, those with greater numbers than `after`:
/// damage costs the events that it lies on, not those behind it.
/// @return  Whether these are all of them.
/// @throws StoreError  It fails otherwise (the disk, somebody else's lock), so that nobody can say
///                     what is in it.
bool forEachReadableEvent(LibraryStore& database, const std::function<void(const Event&)>& visit,
                          std::int64_t after = 0);

}  // namespace holdshelf
