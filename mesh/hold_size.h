// SPDX-License-Identifier: Apache-2.0
#pragma once

namespace holdshelf {

/// Whatever the unit, a hold is neither a grain nor a wall: its longest side along an axis.
constexpr double kSmallestHold_mm = 3, kLargestHold_mm = 3000;

}  // namespace holdshelf
