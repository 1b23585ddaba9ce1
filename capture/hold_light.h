// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "capture/view.h"

namespace holdshelf {

/// How the hold itself is exposed. What is burnt out or lost in the dark carries no texture, so its
/// shape is a guess even where many photos see it.
struct HoldLight {
  double burnt = 0;  ///< Share of all masks' pixels with a channel at the top (254 or 255).
  /// Share with less than a quarter of the hold's median light in that photo, mean over the third
  /// of the photos that have most of it.
  double shadowed = 0;
};

/// @param views  Those with a mask count.
HoldLight holdLight(const std::vector<View>& views);

/// What to do about it, one sentence each; none for a well lit hold. Over 3 % burnt, over 6 %
/// shadowed: judgement, no source; good captures have 0.0 and at most 1.3 %, the rehearsed bad ones
/// 8 and 14 % (tests/bench/README.md).
std::vector<std::string> lightWarnings(const HoldLight& light);

}  // namespace holdshelf
