// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <functional>
#include <string>
#include <vector>

#include "catalog/library.h"

namespace holdshelf {

/// Events that say something of a hold, and perhaps of others with it.
struct HoldChange {
  std::string hold;
  std::vector<Event> events;
};

/// Commits what `make` gives inside the transaction (Library::commitMade).
/// @return  The hold as that left it, not read anew: what is stored is no failure, even where the
///          library cannot be asked any more.
Hold changeHold(Library& library, const std::function<HoldChange()>& make);

}  // namespace holdshelf
