// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <vector>

#include "proto/shape.pb.h"

namespace holdshelf {

/// One straight edge of a hold, in the hold frame.
struct FaceSpec {
  double facing_deg = 90;  ///< In-plane direction of the grip face's normal from +x; 90 is up.
  double depth_mm = 20;
  double width_mm = 80;
  double lip_radius_mm = 2;
  double incut_deg = 0;     ///< Of the face in the section along its normal.
  double distance_mm = 20;  ///< Of the lip's line from the origin.
  double sigma_mm = 0.2;    ///< Standard uncertainty of depth, radius and width.
  double sigma_deg = 1.0;   ///< Of the incut.
};

/// The measurement that straight edges give in closed form, without any mesh: at each 5 degree step
/// every face within 80 degrees of the pull. A face y = c + z tan(a) cut by a plane turned by t
/// from its normal has the section slope tan(a)/cos(t), and its lip climbs sideways by -tan(t);
/// depth perpendicular to the wall stays, the run shrinks to width cos(t).
Shape facetedShape(const std::vector<FaceSpec>& faces);

/// A block with two faces that look away from each other, to be squeezed: each 80 mm deep and 200
/// mm wide, 180 mm out, with this incut.
Shape opposedFaces(double incut_deg);

}  // namespace holdshelf
