// SPDX-License-Identifier: Apache-2.0
#pragma once
#include "mesh/pen.h"

namespace holdshelf {

/// A cut by any plane, to scale, with its width, height, area and length of outline in mm.
Plot plotCut(const PlaneCut& cut);

}  // namespace holdshelf
