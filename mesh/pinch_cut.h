// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <functional>
#include <vector>

#include "mesh/outside_line.h"

namespace holdshelf {

/// What two opposed faces must be like for thumb and fingers to close on them.
struct PinchOptions {
  double grip_depth_mm = 15;  ///< Below the top between the faces, where the width is taken.
  double narrowest_mm = 6, widest_mm = 115;
  double lowest_mm = 10;         ///< Usable height.
  double shortest_mm = 10;       ///< Sideways run.
  double widest_taper_deg = 60;  ///< Between the faces: beyond it skin slips off (tan 30 = 0.58).
  double steepest_deg = 45;      ///< A face that leans more than this from square slips away.
};

/// Distance of the heights at which faces are looked at.
inline constexpr double kPinchLevel_mm = 1;

/// A pinch in one section (frame of the section: u along the closing direction, z off the wall).
struct PinchCut {
  double offset_mm = 0;  ///< Of the section, sideways.
  double width_mm = 0;   ///< Between the faces at the grip's height; 0: none.
  double middle_mm = 0;  ///< u half way between them there.
  double taper_deg = 0;  ///< Between the faces, positive where they close towards the climber.
  double height_mm = 0;  ///< Over which they are usable.
  double depth_mm = 0;   ///< Of the grip below the top.
};

/// Finds the pinches in the lines of one section: from each part of the solid that nothing lies
/// above, down along its two sides, as long as they stand within `steepest_deg` of square to the
/// closing direction and the width is one that a hand closes on. Straight lines fitted to both
/// sides from the pads down give width and taper.
///
/// @param top_mm     Height of the hold.
/// @param filled     Whether a place u lies in a bolt's recess, which counts as solid.
/// @param reachable  Whether a finger comes to a place (u, z).
/// @return  Those on the same faces once; `offset_mm` is left to the caller.
std::vector<PinchCut> pinchesIn(const std::vector<OutsideLine>& lines, double top_mm,
                                const PinchOptions& options,
                                const std::function<bool(double)>& filled,
                                const std::function<bool(double, double)>& reachable);

}  // namespace holdshelf
