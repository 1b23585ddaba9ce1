// SPDX-License-Identifier: Apache-2.0
#pragma once
#include "mesh/pen.h"

namespace holdshelf {

/// Edge depth, incut and lip radius around the whole turn, one rose each, in words, mm and degrees.
Plot plotRose(const Shape& shape);

}  // namespace holdshelf
