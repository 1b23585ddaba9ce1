// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>
#include <vector>

#include "capture/recess.h"
#include "capture/view.h"
#include "mesh/ray_scene.h"

namespace holdshelf {

/// The flat floor of a recess, as photos show it. Frame H, mm.
struct SeatFloor {
  double height_mm = 0;
  double sigma_mm = 0;    ///< Standard uncertainty; the wall plane's own is not in it.
  double agreement = 0;   ///< Mean correlation of the photos there, -1 to 1.
  double seen_share = 0;  ///< Of the ring in which a head bears: seen by two photos at least.
  int photos = 0;         ///< That took part.
};

/// Looks for the height of a recess's flat floor by sweeping a plane through it: at the right
/// height all photos that see into the recess show the same picture of the floor.
///
/// Patches do not find such floors: each photo sees a crescent of a few millimetres of it between
/// the rim before and the wall behind, dark and next to bright edges. But the recess's wall is
/// known, so there is but one unknown, and every pair of photos speaks on it with all that both
/// see. Inside of 0.58 of the radius nothing is compared, as the bore opens there.
///
/// The uncertainty is the larger of what leaving out each photo in turn tells (jackknife) and what
/// the peak's width allows (agreement_peak.h).
///
/// @param views  Undistorted, posed. Masks are not looked at.
/// @param hold   Rays against the hold's surface, whose recess may be filled up.
/// @return  nullopt where two photos do not see enough of any floor, or do not agree on one height
///          alone.
/// Source: Collins RT, "A space-sweep approach to true multi-image matching", CVPR 1996.
std::optional<SeatFloor> findSeatFloor(const Recess& recess, const std::vector<View>& views,
                                       const RayScene& hold);

}  // namespace holdshelf
