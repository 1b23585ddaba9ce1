// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <array>
#include <span>

namespace holdshelf {

/// What a pad would get at one place along a lip.
struct PlaceValue {
  double offset_mm = 0;
  double value = 0;  ///< Share of a jug that a whole hand would get there.
};

/// The best stand of a hand along a lip.
struct FingerPlacement {
  double share = 0;       ///< Sum over the fingers of load share times the value under each.
  int fingers = 0;        ///< That stand on at least half of the best finger's value.
  double start_mm = 0;    ///< Offset where the hand begins.
  double load_share = 0;  ///< Of the whole hand's load, that the standing fingers take.
  double cover = 0;       ///< Share of the hand's breadth that stands on the lip.
};

/// Slides a hand, index to little finger in both directions, along the lip and keeps the strongest
/// stand. Four, three, two or one finger come out by what the lip supports: fingers beside it get
/// nothing. The value is linear between places and 0 outside them. Wherever places lie, it ends
/// after some thousand stands: along more than 8 m they are farther apart.
///
/// @param places       Ordered by offset; at least one. Nobody stands where an end is no number, or
///                     the last lies before the first.
/// @param breadth_mm   Room each finger takes, index first.
/// @param load_share   What each finger takes of a hand's load, sum 1.
FingerPlacement placeFingers(std::span<const PlaceValue> places,
                             const std::array<double, 4>& breadth_mm,
                             const std::array<double, 4>& load_share);

}  // namespace holdshelf
