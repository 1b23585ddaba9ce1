// SPDX-License-Identifier: Apache-2.0
#include "catalog/lip_contact.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace holdshelf {
namespace {

constexpr double kDeg = 3.14159265358979323846 / 180;

/// Where the straight face ends and the arc begins.
struct Face {
  double length_mm;  ///< Of the straight part, along it.
  double start_rad;  ///< Slope at the arc's beginning, wall frame.
};

Face splitFace(const LipProfile& profile) {
  const double incut = std::clamp(profile.incut_deg, -89.0, 89.0) * kDeg;
  const double arc_depth = profile.radius_mm * (1 + std::sin(incut));
  if (profile.depth_mm >= arc_depth)
    return {(profile.depth_mm - arc_depth) / std::cos(incut), -incut};
  const double sine = std::clamp(1 - profile.depth_mm / profile.radius_mm, -1.0, 1.0);
  return {0, std::asin(sine)};
}

/// The fit at the best place found a depth that no place beside it has.
bool contradictsRun(const Grip& grip) {
  return grip.run_size() >= 2 && grip.edge_width_mm().value() < 1;
}

/// Depth at the place of the run nearest to the fitted section.
double depthInRun_mm(const Grip& grip) {
  const EdgePlace* nearest = &grip.run(0);
  for (const EdgePlace& place : grip.run())
    if (std::abs(place.offset_mm() - grip.offset_mm()) <
        std::abs(nearest->offset_mm() - grip.offset_mm()))
      nearest = &place;
  return nearest->depth_mm();
}

}  // namespace

LipProfile profileOf(const Grip& grip) {
  LipProfile profile{grip.edge_depth_mm().value(), grip.lip_radius_mm().value(),
                     grip.incut_deg().value()};
  const double along_mm = grip.edge_along_mm().value();
  const double straight_mm = along_mm - profile.radius_mm * grip.lip_sweep_deg() * kDeg;
  const bool all_arc = grip.lip_sweep_deg() > 0 && straight_mm < 0.15 * along_mm;
  if (all_arc) profile.incut_deg = std::max(profile.incut_deg, grip.lip_sweep_deg() - 90);
  if (contradictsRun(grip)) profile.depth_mm = depthInRun_mm(grip);
  return profile;
}

double bearingWidth_mm(const Grip& grip) {
  if (!contradictsRun(grip)) return grip.edge_width_mm().value();
  const double enough_mm = 0.8 * depthInRun_mm(grip);
  double width_mm = 0;
  for (int i = 1; i < grip.run_size(); ++i)
    if (grip.run(i - 1).depth_mm() >= enough_mm && grip.run(i).depth_mm() >= enough_mm)
      width_mm += grip.run(i).offset_mm() - grip.run(i - 1).offset_mm();
  return width_mm;
}

double handHeight_mm(const Grip& grip, double end_slope_deg) {
  const LipProfile profile = profileOf(grip);
  const Face face = splitFace(profile);
  // From the outermost point back along the arc, then down the straight face to the root.
  const double root_u = grip.lip_height_mm() + profile.radius_mm * std::cos(face.start_rad) +
                        face.length_mm * std::sin(face.start_rad);
  const LipContact contact =
      contactOf(profile, 0, end_slope_deg, std::numeric_limits<double>::max());
  return root_u - contact.length_mm * std::sin(contact.slope_deg * kDeg) / 2;
}

LipContact contactOf(const LipProfile& profile, double wall_angle_deg, double end_slope_deg,
                     double longest_mm) {
  LipContact contact;
  if (!(profile.depth_mm > 0)) return contact;
  const Face face = splitFace(profile);
  const double tilt = wall_angle_deg * kDeg;
  contact.incut_deg = (-face.start_rad - tilt) / kDeg;
  contact.slope_deg = -contact.incut_deg;
  const double end = std::min(end_slope_deg - wall_angle_deg, 90.0) * kDeg;
  if (end < face.start_rad) return contact;  // The face itself is too steep.

  const double straight = std::min(face.length_mm, longest_mm);
  double u = -std::sin(face.start_rad) * straight, z = std::cos(face.start_rad) * straight;
  if (straight < longest_mm && profile.radius_mm > 0) {
    const double stop = std::min(end, face.start_rad + (longest_mm - straight) / profile.radius_mm);
    u += profile.radius_mm * (std::cos(stop) - std::cos(face.start_rad));
    z += profile.radius_mm * (std::sin(stop) - std::sin(face.start_rad));
  }
  const double v = u * std::cos(tilt) - z * std::sin(tilt);
  const double w = u * std::sin(tilt) + z * std::cos(tilt);
  contact.length_mm = std::hypot(v, w);
  contact.depth_mm = z;
  if (contact.length_mm > 0) contact.slope_deg = std::atan2(-v, w) / kDeg;
  return contact;
}

}  // namespace holdshelf
