// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstddef>

#include "mesh/edge_fit.h"
#include "mesh/edge_run.h"
#include "mesh/grip_sections.h"
#include "mesh/outside_line.h"
#include "proto/shape.pb.h"

namespace holdshelf {

/// Measures an edge at its best place: depth, lip radius, length along the surface and incut, each
/// with its standard uncertainty, and what is known beside them (sweep and sharpness of the lip,
/// contact, share of guesswork).
///
/// The section at the place is fitted alone (edge_fit.h); where noise leaves its numbers uncertain,
/// together with as many of the sections within a finger's width as it takes. An uncertainty is the
/// quadratic sum of what the surface may err at the points that were fitted, of the mesh's
/// resolution, and of the definition: where a lip turns into the grip face and that into the root
/// is a matter of how finely one looks, and half of what a look twice as close changes counts.
///
/// @param line  The section's line that holds the edge.
/// @return  The fit that the numbers are of.
EdgeFit setEdgeNumbers(const GripSections& sections, const EdgeRun& run, std::size_t place,
                       const OutsideLine& line, Grip& grip);

}  // namespace holdshelf
