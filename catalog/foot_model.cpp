// SPDX-License-Identifier: Apache-2.0
#include "catalog/foot_model.h"

#include <algorithm>
#include <cmath>

#include "catalog/edge_capacity.h"
#include "catalog/lip_contact.h"

namespace holdshelf {
namespace {

/// Mean of the women's and men's median foot breadth, ANSUR II (93 and 102 mm).
constexpr double kFootBreadth_mm = 97.5;

struct ToeLoad {
  LipContact contact;
  double fraction = 0;
};

ToeLoad toeLoad(const LipProfile& profile, double askew, double wall_angle_deg, double width_mm,
                double friction, const GripThresholds& t) {
  ToeLoad load;
  load.contact = contactOf(profile, wall_angle_deg, t.contact_end_slope_deg, t.toe_longest_mm);
  load.fraction = -std::expm1(-load.contact.length_mm / t.toe_contact_mm) *
                  slopeShare(load.contact.slope_deg, askew, friction) *
                  std::clamp(width_mm / t.toe_width_mm, 0.0, 1.0);
  return load;
}

}  // namespace

ToeHold toeHold(const Grip& grip, double askew, double wall_angle_deg, const GripThresholds& t) {
  const LipProfile profile = profileOf(grip);
  const double width = bearingWidth_mm(grip);
  const auto fraction = [&](LipProfile changed, double changed_width, double friction) {
    return toeLoad(changed, askew, wall_angle_deg, changed_width, friction, t).fraction;
  };
  const ToeLoad load = toeLoad(profile, askew, wall_angle_deg, width, t.rubber_friction, t);
  ToeHold toe;
  toe.fraction = load.fraction;
  toe.contact_mm = load.contact.length_mm;
  toe.slope_deg = load.contact.slope_deg;
  toe.width_mm = width;
  toe.stable_area_mm2 = toe.contact_mm * std::min(width, kFootBreadth_mm);
  toe.sharp = grip.lip_sharp() || profile.radius_mm < t.sharp_radius_mm;
  // More than half of the slip limit is used: standing on friction.
  toe.smear = std::tan(std::clamp(toe.slope_deg, 0.0, 89.0) * 3.14159265358979323846 / 180) >
              0.5 * t.rubber_friction;

  LipProfile deeper = profile, rounder = profile, steeper = profile;
  deeper.depth_mm += grip.edge_depth_mm().sigma();
  rounder.radius_mm += grip.lip_radius_mm().sigma();
  steeper.incut_deg -= grip.incut_deg().sigma();
  const double changes[] = {
      fraction(deeper, width, t.rubber_friction), fraction(rounder, width, t.rubber_friction),
      fraction(steeper, width, t.rubber_friction),
      fraction(profile, width + grip.edge_width_mm().sigma(), t.rubber_friction),
      fraction(profile, width, t.rubber_friction - t.rubber_friction_sigma)};
  double variance = 0;
  for (double changed : changes) variance += (changed - load.fraction) * (changed - load.fraction);
  toe.sigma = std::sqrt(variance);
  return toe;
}

}  // namespace holdshelf
