// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <algorithm>

#include "catalog/grip_kind.h"
#include "catalog/grip_thresholds.h"
#include "catalog/hand_model.h"
#include "catalog/lip_contact.h"

namespace holdshelf {

/// An edge at one place, and everything but the fingers that its force depends on.
struct EdgePlaceState {
  LipProfile profile;
  double askew = 0;     ///< The lip climbs so much sideways there, du/ds in the wall.
  double room_mm = 0;   ///< Free height above the grip face.
  bool is_bar = false;  ///< Fingers go around it.
  double wall_angle_deg = 0;
  double friction = 0;  ///< Of skin.
};

/// What one finger pad gets at one place of an edge, as factors of 0 to 1:
///
///     value = (contact_share + max(0, bar - contact_share) * wrap) * slope
///
/// A pad on a short contact bears that share; hooked behind the lip it comes as near as `wrap` to
/// what a bar of the lip's roundness gives; friction leaves `slope` of it. Sources:
/// edge_capacity.h.
struct PadFactors {
  LipContact contact;
  double contact_share = 0, wrap = 0, bar = 0, slope = 0;
  double value() const {
    return (contact_share + std::max(0.0, bar - contact_share) * wrap) * slope;
  }
};

/// The part of the factors that does not depend on the technique: all but contact_share, and wrap
/// as of an open hand. Around a bar neither slope nor wall angle lets the fingers off.
PadFactors commonFactors(const EdgePlaceState& at, const HandModel& hand, const GripThresholds& t);

/// The same with the contact's share of a technique; crimped fingers do not hook.
PadFactors withTechnique(PadFactors pad, Technique technique, const HandModel& hand,
                         const GripThresholds& t);

}  // namespace holdshelf
