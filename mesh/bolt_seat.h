// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <vector>

#include "mesh/hole.h"
#include "mesh/precision.h"
#include "proto/shape.pb.h"

namespace holdshelf {

/// Finds the holes that bolts and screws go through: round bores along z with the recess their head
/// lies in. A seat is flat where the hole widens at once, a cone where it widens steadily. A hole
/// without a recess has its seat at its rim. A recess whose bore does not show, as photos leave it,
/// counts too where it is round, upright and sharp-rimmed with a flat floor: a seat without a bore.
/// Bolts come before recesses without a bore, those before screws, each the larger first.
///
/// A scan shows where a head would bear, not whether the material there is sound.
/// @throws BadInput  There are more than can be looked at (CloseLooks).
std::vector<BoltSeat> findBoltSeats(SectionCutter& cutter, const TriangleMesh& mesh,
                                    const MeshPrecision& precision);

/// The radius around the seat's axis that a head and its washer fill.
double filledRadius(const BoltSeat& seat);

}  // namespace holdshelf
