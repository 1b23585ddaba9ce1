// SPDX-License-Identifier: Apache-2.0
#include "catalog/finger_rods.h"

namespace holdshelf {
namespace {

constexpr double kSmallRod_mm = 8, kLargeRod_mm = 25;

}  // namespace

FingerRodResult checkFingerRods(std::span<const OpeningStep> opening) {
  if (opening.empty() || opening.front().width_mm < kSmallRod_mm) return {};
  for (const OpeningStep& step : opening) {
    if (step.width_mm < kSmallRod_mm) return {false, "the opening narrows until an 8 mm rod locks"};
    if (step.width_mm < kLargeRod_mm)
      return {false, "an 8 mm rod enters where a 25 mm rod does not"};
  }
  return {};
}

}  // namespace holdshelf
