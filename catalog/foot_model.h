// SPDX-License-Identifier: Apache-2.0
#pragma once
#include "catalog/grip_thresholds.h"
#include "proto/shape.pb.h"

namespace holdshelf {

/// What the front of a climbing shoe gets from one edge.
struct ToeHold {
  double fraction = 0;         ///< Of the same shoe on a deep, wide, flat, square edge; 0 to 1.
  double sigma = 0;            ///< Standard uncertainty, from the measurement and rubber friction.
  double contact_mm = 0;       ///< Along the surface.
  double slope_deg = 0;        ///< Of the contact below horizontal; negative: incut.
  double width_mm = 0;         ///< Of the edge.
  double stable_area_mm2 = 0;  ///< Contact times width, at most a foot's breadth.
  bool smear = false;          ///< Held by friction on a slope more than on an edge.
  bool sharp = false;          ///< The lip is sharp: good for a toe, hard on rubber and hands.
  int grip = -1;               ///< Index in Shape.grips.
};

/// Toe edging and smearing on the grip face of `grip` at a wall angle, the foot loading it straight
/// down:
///
///     (1 - exp(-contact / d)) (1 - (tan^2 slope + askew^2) / mu^2) min(1, width / toe width)
///
/// with contact and slope as for a hand (lip_contact.h), mu and d of shoe rubber. A round lip takes
/// contact off an edge; what is left is smeared on as far as rubber friction goes. The published
/// band for rubber on hold plastic is 0.7 to 1.15; that climbers find thin edges standable is
/// common practice, no source; d is judgement.
ToeHold toeHold(const Grip& grip, double askew, double wall_angle_deg,
                const GripThresholds& thresholds);

}  // namespace holdshelf
