// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <vector>

#include "proto/intake.pb.h"

namespace holdshelf {

/// From where the usable photos were taken, by the twelve numbers at the mat's edge (1 at the
/// bottom of the sheet, counter-clockwise, 30 degrees apart) and the three rings of
/// capture/how-to-shoot.md (15, 40 and 65 degrees up; split half way), and what is still missing.
IntakeCoverage coverageOf(const std::vector<PhotoLook>& photos);

/// The mat's number nearest to a direction, 1 to 12.
int matNumber(double azimuth_deg);

}  // namespace holdshelf
