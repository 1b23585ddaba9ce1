// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "catalog/library.h"

namespace holdshelf {

/// Takes pieces out of a counted lot, in one commit: they become a hold of their own with the lot's
/// labels and last scan, so that a few of the lot can be on a wall while the others are on the
/// shelf.
/// @return  The new hold, which names the lot in split_from.
/// @throws BadInput  There is no such hold, or it has no more than so many pieces.
Hold splitLot(Library& library, const std::string& lot, int pieces, const std::string& bin = {});

}  // namespace holdshelf
