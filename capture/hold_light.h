// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "capture/view.h"

namespace holdshelf {

/// How the hold itself is exposed, over all pixels of all masks. What is burnt out or lost in the
/// dark carries no texture, so its shape is a guess even where many photos see it.
struct HoldLight {
  double burnt = 0;  ///< Share with a colour channel at the top of the range (254 or 255).
  double dark = 0;  ///< Share with all channels below 20 of 255, 0.7 % of full light: mostly noise.
  double dark_third = 0;  ///< `dark` of the third of the photos that have most of it.
};

/// @param views  Those with a mask count.
HoldLight holdLight(const std::vector<View>& views);

/// What to do about it, one sentence each; none for a well lit hold. The limits are judgement, no
/// source: good captures stay under a third of them (tests/bench/README.md).
std::vector<std::string> lightWarnings(const HoldLight& light);

}  // namespace holdshelf
