// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "catalog/climb_conflict.h"
#include "catalog/library.h"
#include "proto/climb.pb.h"

namespace holdshelf {

/// Records where a hold of the climb is mounted; it is then on the wall. A bolt that was recorded
/// for a panel fixed otherwise no longer counts. Of a lot in the crate one
/// piece is mounted, as a hold of its own; the others stay in the crate.
/// @throws BadInput  No such panel or T-nut in the climb's zone, neither T-nut nor note, or a
///                   rotation that is no angle.
Climb placeHold(Library& library, const std::string& id, const std::string& hold,
                const Placement& placement, const ClimbAllowed& allowed = {});
/// The same, giving the id of what was mounted.
std::string placePiece(Library& library, const std::string& id, const std::string& hold,
                       const Placement& placement);

}  // namespace holdshelf
