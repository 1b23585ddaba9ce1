// SPDX-License-Identifier: Apache-2.0
#pragma once
#include "catalog/grip_thresholds.h"
#include "catalog/hand_model.h"

namespace holdshelf {

/// Two opposed faces, as measured.
struct PinchFaces {
  double width_mm = 0;   ///< Between the faces at grip depth.
  double taper_deg = 0;  ///< Angle between them; positive: narrower away from the wall.
  double height_mm = 0;  ///< Usable, away from the wall.
  double length_mm = 0;  ///< Sideways run of the opposed faces.
};

/// What thumb and fingers get from closing on two faces.
struct PinchHold {
  double fraction = 0;   ///< Of the same hand on a large jug.
  double fingers = 0;    ///< Opposed to the thumb, fractional; at most 4.
  double squeeze_n = 0;  ///< Force of the thumb on its face.
};

/// Force along the faces that opposition and friction carry.
///
/// Each face takes the squeeze N and at most mu N along it. A load F that pulls along the wall with
/// F cos b and out of it with F sin b (b wall angle) is carried by both; faces that taper by t push
/// the hand off with 2 N sin(t/2):
///
///     2 T1 = F cos b,   2 T2 cos(t/2) = F sin b + 2 N sin(t/2),   T1^2 + T2^2 = (mu N)^2,
///
/// with T2 = 0 where the faces widen outwards enough to keep the hand in.
///
/// N grows with the number of opposed fingers (Stegink Jansen et al., J Hand Ther 2003: tip and
/// three-jaw pinch), with the pad's cover of the height, and with width up to a best one
/// (pinchWidthShare; sources in thresholdTable()).
///
/// @param pull_to_closing_deg  Between pull and closing direction, in the wall plane, 0 to 90; the
///                             share of the load along the faces is its sine, and below the
///                             threshold there is no pinch.
PinchHold pinchForce(const PinchFaces& faces, double pull_to_closing_deg, double wall_angle_deg,
                     double friction, const HandModel& hand, const GripThresholds& thresholds);

/// Strength of a pinch of a width over the best width, 0 beyond the hand's span.
double pinchWidthShare(double width_mm, const HandModel& hand, const GripThresholds& thresholds);

}  // namespace holdshelf
