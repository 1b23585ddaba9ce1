// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>

#include "mesh/deviation.h"
#include "mesh/triangle_mesh.h"
#include "proto/shape.pb.h"

namespace holdshelf {

/// What is gone along one lip, and the growth of its radius that this amounts to.
struct LipLoss {
  Measured lost_mm3;  ///< Along the lip; negative: the surface lies higher than it did.
  double length_mm = 0;
  Measured growth_mm;  ///< Of the lip radius.
};

/// Growth of a lip's radius from the material that is gone along it. A corner that turns by t and
/// is rounded with radius r lacks r^2 (tan(t/2) - t/2) of its cross-section, so the lost
/// cross-section gives the radius back. It rests on thousands of vertices where a fitted radius
/// rests on an arc of a few millimetres: on rebuilt scans its scatter is a tenth to a third
/// of the fit's.
///
/// The uncertainty is that of the patch means (deviation.spread_mm, patches independent) with a
/// common offset of half of it over all of the lip.
/// @param baseline   The mesh that the deviation belongs to, frame H.
/// @param grip       A grip of the baseline's shape.
/// @return  nullopt where the lip turns too little, or is not followed far enough, to say.
std::optional<LipLoss> lipLoss(const TriangleMesh& baseline, const Deviation& deviation,
                               const Grip& grip);

}  // namespace holdshelf
