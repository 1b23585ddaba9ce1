// SPDX-License-Identifier: Apache-2.0
#include "catalog/pinch_force.h"

#include <algorithm>
#include <cmath>

#include "catalog/edge_capacity.h"

namespace holdshelf {
namespace {

constexpr double kDeg = 3.14159265358979323846 / 180;

double lerp(double x, double x0, double y0, double x1, double y1) {
  return y0 + (y1 - y0) * (x - x0) / (x1 - x0);
}

/// Squeeze of the thumb against n fingers, N; linear between whole fingers.
double squeeze(double fingers, const GripThresholds& t) {
  if (fingers <= 1) return fingers * t.pinch_one_newton;
  if (fingers <= 2) return lerp(fingers, 1, t.pinch_one_newton, 2, t.pinch_two_newton);
  return t.pinch_two_newton + (fingers - 2) * t.pinch_more_newton;
}

/// The load F of the three equations in the header for N = 1; 0 when the taper alone slips.
double loadOfUnitSqueeze(double taper_deg, double wall_angle_deg, double friction) {
  const double half = taper_deg / 2 * kDeg, tilt = wall_angle_deg * kDeg;
  // T1 = F c, T2 = F s + k with the abbreviations below: a quadratic in F.
  const double c = std::cos(tilt) / 2, s = std::sin(tilt) / (2 * std::cos(half));
  const double k = std::tan(half);
  // Faces that widen outwards push the hand against the wall, which costs no friction.
  if (friction / c * s + k <= 0) return friction / c;
  const double a = c * c + s * s, b = s * k, d = k * k - friction * friction;
  const double root = b * b - a * d;
  if (root <= 0) return 0;
  return std::max(0.0, (-b + std::sqrt(root)) / a);
}

}  // namespace

double pinchWidthShare(double width_mm, const HandModel& hand, const GripThresholds& t) {
  const double span = hand.pinch_span_mm;
  if (!(width_mm > 0) || width_mm >= span) return 0;
  if (width_mm < t.pinch_best_from_mm)
    return lerp(width_mm, 0, t.pinch_narrow_share, t.pinch_best_from_mm, 1);
  if (width_mm <= t.pinch_best_to_mm) return 1;
  if (width_mm <= t.pinch_wide_mm)
    return lerp(width_mm, t.pinch_best_to_mm, 1, t.pinch_wide_mm, t.pinch_wide_share);
  return std::max(0.0, lerp(width_mm, t.pinch_wide_mm, t.pinch_wide_share, span, 0));
}

PinchHold pinchForce(const PinchFaces& faces, double pull_to_closing_deg, double wall_angle_deg,
                     double friction, const HandModel& hand, const GripThresholds& t) {
  PinchHold hold;
  if (pull_to_closing_deg < t.pinch_pull_deg) return hold;
  const double finger = hand.finger_breadth_mm[0] * t.finger_packing;
  hold.fingers = std::clamp(faces.length_mm / finger, 0.0, 4.0);
  const double cover =
      contactShare(Technique::OpenHand, faces.height_mm, hand, t) / t.open_hand_ceiling;
  hold.squeeze_n = squeeze(hold.fingers, t) * cover * pinchWidthShare(faces.width_mm, hand, t);
  hold.fraction = hold.squeeze_n * loadOfUnitSqueeze(faces.taper_deg, wall_angle_deg, friction) *
                  std::sin(pull_to_closing_deg * kDeg) / t.jug_newton;
  return hold;
}

}  // namespace holdshelf
