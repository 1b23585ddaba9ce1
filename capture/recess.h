// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <vector>

#include "mesh/ray_scene.h"

namespace holdshelf {

/// A round recess cut along z into a hold: the one a bolt's head lies in. Frame H, mm.
struct Recess {
  Eigen::Vector2d axis_mm{0, 0};
  double radius_mm = 0;
  /// Height of the surface just outside of the recess, evenly round from +x to +y.
  std::vector<double> rim_mm;

  /// 0 without a rim.
  double lowestRim_mm() const;
  /// The higher of the two samples beside an azimuth: a ray that touches the rim is not free.
  double rimAt_mm(double azimuth_rad) const;
};

/// Whether a point within the recess is seen from an eye: its ray leaves the recess's cylinder
/// above the rim there, by 0.4 mm at least, and nothing of the hold stands in its way from there
/// on. A point within 0.4 mm of the wall counts as not seen but from straight above.
bool seenInRecess(const Recess& recess, const RayScene& hold, const Eigen::Vector3d& point_mm,
                  const Eigen::Vector3d& eye_mm);

}  // namespace holdshelf
