// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <optional>
#include <vector>

#include "capture/view.h"
#include "mesh/ray_scene.h"

namespace holdshelf {

/// A round recess cut along z into a hold: the one a bolt's head lies in. Frame H, mm.
struct Recess {
  Eigen::Vector2d axis_mm{0, 0};
  double radius_mm = 0;
  /// Height of the surface just outside of the recess, evenly round from +x to +y.
  std::vector<double> rim_mm;

  double lowestRim_mm() const;
  double rimAt_mm(double azimuth_rad) const;
};

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
/// see. Inside of `kBoreShare` of the radius nothing is compared, as the bore opens there.
///
/// The uncertainty is the larger of what leaving out each photo in turn tells (jackknife) and what
/// the peak's width allows.
///
/// @param views  Undistorted, posed. Masks are not looked at.
/// @param hold   Rays against the hold's surface, whose recess may be filled up.
/// @return  nullopt where two photos do not see enough of any floor, or do not agree on one height
///          alone.
/// Source: Collins RT, "A space-sweep approach to true multi-image matching", CVPR 1996; jackknife:
/// Efron B, "The jackknife, the bootstrap and other resampling plans", SIAM 1982, ch. 3.
std::optional<SeatFloor> findSeatFloor(const Recess& recess, const std::vector<View>& views,
                                       const RayScene& hold);

/// Whether a point within the recess is seen from an eye: past the rim, and past the hold.
bool seenInRecess(const Recess& recess, const RayScene& hold, const Eigen::Vector3d& point_mm,
                  const Eigen::Vector3d& eye_mm);

}  // namespace holdshelf
