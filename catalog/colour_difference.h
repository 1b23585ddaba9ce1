// SPDX-License-Identifier: Apache-2.0
#pragma once
#include "catalog/colour.h"

namespace holdshelf {

/// CIEDE2000 colour difference with kL = kC = kH = 1. About 1 is just noticeable side by side.
///
/// Source: CIE 142-2001; formula and test data as in Sharma, Wu, Dalal, "The CIEDE2000
/// color-difference formula: implementation notes, supplementary test data, and mathematical
/// observations", Color Research and Application 30(1), 2005.
double colourDifference(const Lab& x, const Lab& y);

}  // namespace holdshelf
