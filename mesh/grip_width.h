// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstddef>

#include "mesh/edge_run.h"
#include "mesh/grip_sections.h"
#include "proto/shape.pb.h"

namespace holdshelf {

/// Where along an edge it is deep enough to hold, and how surely that ends where it ends.
///
/// Sets the grip's spans, the one around the best place first and others of the run wider than 2 mm
/// after it; its width and fingers, which are those of the first; and the width's standard
/// uncertainty, from both ends. An end within the run is where the depth falls below `depth_mm`
/// (cut again in between, to an eighth of the sections' distance): it is uncertain by the depth's
/// own uncertainty over the depth's slope. An end with the run is where the surface stops being a
/// grip face: certain where that is at once, else as far as noise moves the place where it has
/// turned away.
///
/// @param place     Of the run: the best place, at least `depth_mm` deep.
/// @param depth_mm  Stated for the width.
/// @param grip      Its edge depth must be set, with its uncertainty.
void setWidth(const GripSections& sections, const EdgeRun& run, std::size_t place, double depth_mm,
              Grip& grip);

}  // namespace holdshelf
