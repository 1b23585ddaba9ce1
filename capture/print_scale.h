// SPDX-License-Identifier: Apache-2.0
#pragma once
#include "capture/calibrate.h"

namespace holdshelf {

/// Scales a capture whose sheet says that it was not printed to scale (paper_size.h), where the
/// sheet's edges may set the scale: poses, mat and what is known of both, by the factor that makes
/// the sheet as large as the standard cuts it. A warning says so in the place of the one that asks
/// for
/// --mat-scale. Otherwise nothing changes.
void correctPrint(CalibratedCapture& capture);

}  // namespace holdshelf
