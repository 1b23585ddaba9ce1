// SPDX-License-Identifier: Apache-2.0
#include "catalog/edge_capacity.h"

#include <algorithm>
#include <cmath>

namespace holdshelf {
namespace {

/// 0 below `from`, 1 above `to`, linear between.
double ramp(double value, double from, double to) {
  return std::clamp((value - from) / (to - from), 0.0, 1.0);
}

/// The same with level ends.
double smoothRamp(double value, double from, double to) {
  const double t = ramp(value, from, to);
  return t * t * (3 - 2 * t);
}

/// The hand whose bar forces the published diameters belong to: both sexes' middle.
constexpr double kReferenceGripDiameter_mm = 50;

}  // namespace

double contactShare(Technique technique, double contact_mm, const HandModel& hand,
                    const GripThresholds& t) {
  if (!(contact_mm > 0)) return 0;
  double ceiling = t.open_hand_ceiling, share = t.open_hand_contact;
  if (technique == Technique::HalfCrimp)
    ceiling = t.half_crimp_ceiling, share = t.half_crimp_contact;
  if (technique == Technique::FullCrimp)
    ceiling = t.full_crimp_ceiling, share = t.full_crimp_contact;
  const double ratio = contact_mm / (share * hand.distal_phalanx_mm);
  return ceiling * -std::expm1(-std::pow(ratio, t.contact_exponent));
}

double slopeShare(double slope_deg, double askew, double friction) {
  const double tangent =
      slope_deg > 0 ? std::tan(std::min(slope_deg, 89.0) * (3.14159265358979323846 / 180)) : 0;
  return std::max(0.0, 1 - (tangent * tangent + askew * askew) / (friction * friction));
}

double barShare(double diameter_mm, const HandModel& hand, const GripThresholds& t) {
  const double diameter = diameter_mm * kReferenceGripDiameter_mm / hand.grip_diameter_mm;
  return std::max(0.0, 1 - t.bar_loss_per_mm * std::max(0.0, diameter - t.bar_full_mm));
}

double wrapShare(double incut_deg, double contact_mm, double room_mm, const HandModel& hand,
                 const GripThresholds& t) {
  return smoothRamp(incut_deg, t.wrap_incut_from_deg, t.wrap_incut_to_deg) *
         ramp(contact_mm / hand.distal_phalanx_mm, t.wrap_contact_from, t.wrap_contact_to) *
         ramp(room_mm, t.finger_room_mm, t.hand_room_mm);
}

}  // namespace holdshelf
