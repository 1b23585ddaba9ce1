// SPDX-License-Identifier: Apache-2.0
#pragma once
#include "proto/wear.pb.h"

namespace holdshelf {

/// Words for wear, all of them in this one table. Judgements: no publication gives thresholds for
/// climbing holds.
struct WearGrades {
  double rounded_mm = 0.3;    ///< Sure growth of the lip radius from which a lip is "rounded",
  double worn_mm = 1;         ///< "worn",
  double worn_out_mm = 2.5;   ///< "worn out".
  double chip_mm3 = 8;        ///< A single lost piece from which a hold is "chipped" (patch means
                              ///< show some two thirds of a sharp piece),
  double chip_deep_mm = 0.4;  ///< if it is also this deep: broad shallow loss is rounding.
  double sure_sigmas = 3;     ///< A lip's change counts from this many standard uncertainties.
};

/// Says the grade of a comparison whose lips and lost pieces are there, and its reason in numbers:
/// "worn", "lip radius 2.0 ± 0.1 mm larger, turned 0°; 96 ± 8 mm³ gone in 1 place, 0.8 mm at the
/// deepest". What was seen but gives no word is "none seen", and the reason says that it is too
/// little. Where the texture of a lost piece is gone, too (LostChunk.rubbed), the reason sends a
/// person to feel.
void gradeWear(const WearGrades& grades, Wear& wear);

/// By how much the lip grew that surely grew most; 0 where none did.
double surestGrowth_mm(const Wear& wear);

}  // namespace holdshelf
