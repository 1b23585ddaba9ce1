// SPDX-License-Identifier: Apache-2.0
#include "catalog/pad_factors.h"

#include <cmath>

#include "catalog/edge_capacity.h"

namespace holdshelf {
namespace {

constexpr double kDeg = 3.14159265358979323846 / 180;

}  // namespace

PadFactors commonFactors(const EdgePlaceState& at, const HandModel& hand, const GripThresholds& t) {
  PadFactors pad;
  pad.bar = barShare(2 * at.profile.radius_mm, hand, t);
  if (at.is_bar) {
    // Fingers go around: neither slope nor wall angle lets them off.
    pad.contact = {2 * at.profile.radius_mm, at.profile.depth_mm, 0, 90};
    pad.wrap = wrapShare(90, hand.middle_finger_mm, at.room_mm, hand, t);
    pad.slope = slopeShare(0, at.askew, at.friction);
    return pad;
  }
  pad.contact =
      contactOf(at.profile, at.wall_angle_deg, t.contact_end_slope_deg, hand.middle_finger_mm);
  const double tilt = at.wall_angle_deg * kDeg;
  const double outward = std::tan(std::clamp(pad.contact.slope_deg, 0.0, 80.0) * kDeg);
  // The lip climbs askew = du/ds in the wall; against gravity it climbs this much sideways.
  const double climb = at.askew * (std::cos(tilt) + outward * std::sin(tilt));
  pad.slope = slopeShare(pad.contact.slope_deg, climb, at.friction);
  pad.wrap = wrapShare(pad.contact.incut_deg, pad.contact.length_mm, at.room_mm, hand, t);
  return pad;
}

PadFactors withTechnique(PadFactors pad, Technique technique, const HandModel& hand,
                         const GripThresholds& t) {
  pad.contact_share = contactShare(technique, pad.contact.length_mm, hand, t);
  if (technique != Technique::OpenHand) pad.wrap = 0;
  return pad;
}

}  // namespace holdshelf
