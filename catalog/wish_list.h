// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "proto/climb.pb.h"

namespace holdshelf {

/// What sizes the words of a wish stand for. Judgements, no source.
struct WishSizes {
  double big_radius_mm = 8, small_radius_mm = 4;
  double deep_mm = 25, shallow_mm = 12;
  double big_mm = 150, small_mm = 90;  ///< Longest extent.
  double low_mm = 35;                  ///< Protrusion of a low-profile hold.
};

/// Understands a wish list as a setter writes it, wishes apart by commas: "four incut crimps, two
/// slopers without a positive lip for compression, one big-radius jug to finish, a spread of
/// sizes". Knows counts, the grip words, incut, deep, shallow, big, small, big-radius,
/// small-radius, low-profile, "12-18 mm", two-finger, "without a positive lip", "for compression",
/// "to start" and "to finish", and "a spread of sizes".
/// @throws BadInput  A word that it does not know: the sentence names it. A wish of more than 200
///                   letters, or more than 100 wishes.
WishList parseWishes(const std::string& text, const WishSizes& sizes = {});

}  // namespace holdshelf
