// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <vector>

#include "mesh/best_grips.h"
#include "proto/shape.pb.h"

namespace holdshelf {

struct PinchOptions {
  double grip_depth_mm = 15;  ///< Below the top between the faces, where the width is taken.
  double narrowest_mm = 6, widest_mm = 115;
  double lowest_mm = 10;         ///< Usable height.
  double shortest_mm = 10;       ///< Sideways run.
  double widest_taper_deg = 60;  ///< Between the faces: beyond it skin slips off (tan 30 = 0.58).
  double steepest_deg = 45;      ///< A face that leans more than this from square slips away.
};

/// Finds the opposed faces that thumb and fingers can close on, for closing directions every 5
/// degrees in the wall plane: the best first, at most six, no two alike.
std::vector<Pinch> findPinches(const GripSource& source, const PinchOptions& options = {});

}  // namespace holdshelf
