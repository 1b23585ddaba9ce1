// SPDX-License-Identifier: Apache-2.0
#include "catalog/clearance.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "catalog/mounting.h"

namespace holdshelf {
namespace {

constexpr double kDeg = 3.14159265358979323846 / 180;

const Section* sectionOf(const Shape& shape, const Grip& grip) {
  for (const Section& section : shape.sections())
    if (angleBetween_deg(section.rotation_deg(), grip.rotation_deg()) < 1e-3) return &section;
  return nullptr;
}

/// u of every crossing of the section with the line z, in no order.
template <typename Visit>
void crossings(const Section& section, double z, Visit visit) {
  for (int i = 1; i < section.points_mm_size(); ++i) {
    const Point2 &a = section.points_mm(i - 1), &b = section.points_mm(i);
    if ((a.y() < z) == (b.y() < z)) continue;
    visit(a.x() + (b.x() - a.x()) * (z - a.y()) / (b.y() - a.y()));
  }
}

}  // namespace

double roomAboveGrip_mm(const Shape& shape, const Grip& grip) {
  const double open = std::numeric_limits<double>::infinity();
  const Section* section = sectionOf(shape, grip);
  if (!section) return open;
  const double middle_z = grip.lip_z_mm() - grip.edge_depth_mm().value() / 2;
  // The face is the crossing next to the lip's height, the ceiling the next one above it.
  double face = open;
  crossings(*section, middle_z, [&](double u) {
    if (std::abs(u - grip.lip_height_mm()) < std::abs(face - grip.lip_height_mm())) face = u;
  });
  double ceiling = open;
  crossings(*section, middle_z, [&](double u) {
    if (u > face + 1) ceiling = std::min(ceiling, u);
  });
  return ceiling - (std::isinf(face) ? 0 : face);
}

std::optional<Clearance> clearanceOf(const Shape& shape, const Grip& grip, double wall_angle_deg,
                                     const HandModel& hand, const GripThresholds& t) {
  const Section* section = sectionOf(shape, grip);
  if (!section) return std::nullopt;
  const double tilt = wall_angle_deg * kDeg;
  const double lip_u = grip.lip_height_mm(), lip_z = grip.lip_z_mm();
  double bend = -90;
  const auto obstacle = [&](double u, double z) {
    const double down = (lip_u - u) * std::cos(tilt) + (z - lip_z) * std::sin(tilt);
    const double out = (u - lip_u) * std::sin(tilt) + (z - lip_z) * std::cos(tilt);
    // Nearer than the palm is the hand itself, which lies on the lip.
    if (down < hand.hand_thickness_mm || down > t.forearm_reach_mm) return;
    bend = std::max(bend, std::atan2(out, down) / kDeg);
  };
  for (const Point2& point : section->points_mm()) obstacle(point.x(), point.y());
  for (double below = 0; below <= 2 * t.forearm_reach_mm; below += 10) obstacle(lip_u - below, 0);
  Clearance clearance;
  clearance.room_above_mm = roomAboveGrip_mm(shape, grip);
  clearance.wrist_bend_deg = bend;
  clearance.fits_hand = clearance.room_above_mm >= t.hand_room_mm;
  clearance.wrist_free = bend <= t.wrist_bend_deg;
  return clearance;
}

}  // namespace holdshelf
