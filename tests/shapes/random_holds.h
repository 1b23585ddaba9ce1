// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <random>

#include "tests/shapes/holds.h"

namespace holdshelf {

/// Families of parametric holds whose numbers are drawn at random.
enum class Family {
  Plain,  ///< Edges, pinches, pockets, one or two numbers apart.
  Rich    ///< Bowls, joined pieces, bars over mounds and ledges, with bumps.
};

/// A hold of the family. The same generator state gives the same hold.
ExactHold drawHold(std::mt19937& random, Family family);

}  // namespace holdshelf
