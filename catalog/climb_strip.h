// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "catalog/climb_conflict.h"
#include "catalog/library.h"
#include "proto/climb.pb.h"

namespace holdshelf {

/// Where the climb's holds would go, by bin in walking order, and which are due for a new scan.
/// @param to  "wash" or "shelf".
/// @throws BadInput  No such climb, or nowhere holds go.
StripList stripList(const Library& library, const std::string& id, const std::string& to);
/// Sends them there. Holds recorded elsewhere meanwhile are left there; pieces of a lot that were
/// never mounted join it again on the shelf. The climb's record stays.
/// @throws BadInput  As above, or it is stripped already.
StripList stripClimb(Library& library, const std::string& id, const std::string& to,
                     const ClimbAllowed& allowed = {});

std::string stripText(const StripList& list);

}  // namespace holdshelf
