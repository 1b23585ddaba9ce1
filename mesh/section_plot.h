// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>

#include "mesh/pen.h"

namespace holdshelf {

/// A section of the shape's map, drawn to scale with the wall to the left and the pull downwards:
/// edge depth, lip radius, incut and width dimensioned in words and mm.
///
/// @param offset_mm  Which of several sections at that rotation; unset: the first.
/// @throws BadInput  The shape has no such section.
Plot plotSection(const Shape& shape, double rotation_deg, std::optional<double> offset_mm = {});

}  // namespace holdshelf
