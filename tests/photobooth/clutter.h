// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>

#include "tests/photobooth/surface.h"

namespace holdshelf {

/// Boxes of all sizes that stand around the table's middle, half a metre to a metre away; twelve
/// triangles a box, without light attributes. World frame.
Surface clutter(int count, std::uint32_t seed);

}  // namespace holdshelf
