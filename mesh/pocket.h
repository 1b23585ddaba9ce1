// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <vector>

#include "mesh/bolt_seat.h"
#include "mesh/reach.h"

namespace holdshelf {

/// Finds the openings that take one, two or three fingers, straight in or tilted by about 40
/// degrees to any side. Width and height are taken between the walls half way down, across and
/// along the pull; the pull is along the opening's shorter side, downwards where both are alike.
/// Holes of bolts and screws are no pockets.
std::vector<Pocket> findPockets(const TriangleMesh& mesh, const MeshTopology& topology,
                                const MeshPrecision& precision, const ReachField& reach,
                                const std::vector<BoltSeat>& seats, double finger_mm);

}  // namespace holdshelf
