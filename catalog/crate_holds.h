// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "catalog/climb_conflict.h"
#include "catalog/library.h"
#include "proto/climb.pb.h"

namespace holdshelf {

// Holds into a crate and out of it. Each change is one commit; whether a hold is free is decided
// inside it, and so is `allowed`, first of all. Each gives the climb as it then is.

/// Puts holds into the crate. `what` gives wish and foot for all of them; nothing else of it is
/// read.
/// @throws BadInput  One is not on the shelf (the sentence says who has it), or the climb is
///                   stripped; then none is added.
Climb addHolds(Library& library, const std::string& id, const std::vector<std::string>& holds,
               const ClimbHold& what = {}, const ClimbAllowed& allowed = {});
/// Puts so many pieces of each lot into the crate; the others stay on the shelf. Fewer than all
/// become a hold of their own, last in the climb's list.
/// @throws BadInput  As above, or a lot has fewer pieces on the shelf by now.
Climb addPieces(Library& library, const std::string& id, const std::vector<std::string>& lots,
                int pieces, const ClimbHold& what = {}, const ClimbAllowed& allowed = {});
/// Puts holds back on the shelf; pieces of a lot that were never mounted join it again.
/// @throws BadInput  One is not in this climb.
Climb dropHolds(Library& library, const std::string& id, const std::vector<std::string>& holds,
                const ClimbAllowed& allowed = {});
/// Takes `in` from the shelf for `out`, which goes back to it. A mounted hold hands its place on,
/// at `rotation_deg`; the bolt is to be recorded anew. Of a lot as many pieces are taken as leave.
/// @throws BadInput  `out` is not in the climb, `in` is not on the shelf, one is of the other, or
///                   the rotation is no angle.
Climb swapHold(Library& library, const std::string& id, const std::string& out,
               const std::string& in, double rotation_deg, const ClimbAllowed& allowed = {});

}  // namespace holdshelf
