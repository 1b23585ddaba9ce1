// SPDX-License-Identifier: Apache-2.0
#include "catalog/grip_model.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <limits>

#include "catalog/clearance.h"

namespace holdshelf {
namespace {

constexpr double kStep_deg = 360.0 / GripModel::kSteps;

int stepOf(double angle_deg) {
  return static_cast<int>(std::lround(wrap360(angle_deg) / kStep_deg)) % GripModel::kSteps;
}

const char* countWord(int fingers) {
  static constexpr const char* kWords[] = {"no finger", "one finger", "two fingers",
                                           "three fingers", "four fingers"};
  return kWords[std::clamp(fingers, 0, 4)];
}

template <typename... Values>
std::string text(const char* format, Values... values) {
  char buffer[320];
  std::snprintf(buffer, sizeof buffer, format, values...);
  return buffer;
}

/// "14.2 ± 0.3"; an uncertainty that rounds to zero reads "± <0.1", never "± 0.0".
std::string withSigma(double value, double sigma, int decimals) {
  const double last_digit = std::pow(10, -decimals);
  return sigma < last_digit / 2 ? text("%.*f ± <%.*f", decimals, value, decimals, last_digit)
                                : text("%.*f ± %.*f", decimals, value, decimals, sigma);
}

/// "14.2 ± 0.3 mm".
std::string millimetres(const Measured& measured) {
  return withSigma(measured.value(), measured.sigma(), 1) + " mm";
}

std::string edgeText(const HoldingForce& force, const Grip& grip, const GripThresholds& t) {
  std::string face = "flat";
  if (force.incut_deg >= t.jug_incut_deg) face = text("%.0f° incut", force.incut_deg);
  if (force.incut_deg <= -t.jug_incut_deg) face = text("%.0f° sloping", -force.incut_deg);
  const bool bar = isBar(grip, t);
  const bool round = grip.lip_radius_mm().value() > 0.5 * grip.edge_depth_mm().value();
  const char* noun = bar ? "bar" : round ? "rounding" : "edge";
  if (bar) face = "wrapped";
  std::string out = face + " " + noun + " " + millimetres(grip.edge_depth_mm()) + " deep over " +
                    text("%.0f mm", grip.edge_width_mm().value());
  if (bar || round) out += text(" (radius %.0f mm)", grip.lip_radius_mm().value());
  return out;
}

}  // namespace

GripModel::GripModel(const Shape& shape, const HandModel& hand, const GripThresholds& thresholds)
    : shape_(shape), hand_(hand), thresholds_(thresholds) {
  for (int i = 0; i < shape.grips_size(); ++i) {
    grips_[static_cast<std::size_t>(stepOf(shape.grips(i).rotation_deg()))].push_back(i);
    room_mm_.push_back(roomAboveGrip_mm(shape, shape.grips(i)));
  }
}

HoldingForce GripModel::edgesAt(int step, double wall_angle_deg) const {
  HoldingForce best;
  for (int i : grips_[static_cast<std::size_t>(step)]) {
    HoldingForce force = edgeForce(shape_.grips(i), wall_angle_deg,
                                   room_mm_[static_cast<std::size_t>(i)], hand_, thresholds_);
    if (force.fraction_of_jug <= best.fraction_of_jug && best.index >= 0) continue;
    best = force;
    best.index = i;
  }
  return best;
}

HoldingForce GripModel::hand(const Mounting& mounting) const {
  const double turned_deg = downPullRotation_deg(mounting);
  HoldingForce best = edgesAt(stepOf(turned_deg), mounting.wall_angle_deg);
  // The pull in the hold frame, as an angle from +x: straight down turned back with the hold.
  const double pull_in_hold_deg = -90 - turned_deg;
  const double floor_incut_deg = best.index >= 0 ? shape_.grips(best.index).incut_deg().value() : 0;
  for (int i = 0; i < shape_.pockets_size(); ++i) {
    const double askew_deg = angleBetween_deg(shape_.pockets(i).direction_deg(), pull_in_hold_deg);
    HoldingForce force = pocketForce(shape_.pockets(i), floor_incut_deg, askew_deg,
                                     mounting.wall_angle_deg, hand_, thresholds_);
    // A pocket's floor is also measured as an edge: the same fingers, so the pocket names it.
    const bool same_place =
        best.source == GripSource::Edge && shape_.grips(best.index).edge_width_mm().value() <
                                               1.25 * shape_.pockets(i).width_mm().value();
    if (force.fraction_of_jug <= best.fraction_of_jug && !(same_place && force.fraction_of_jug > 0))
      continue;
    best = force;
    best.index = i;
  }
  for (int i = 0; i < shape_.pinches_size(); ++i) {
    double closing_deg = angleBetween_deg(shape_.pinches(i).direction_deg(), pull_in_hold_deg);
    closing_deg = std::min(closing_deg, 180 - closing_deg);
    HoldingForce force =
        pinchingForce(shape_.pinches(i), closing_deg, mounting.wall_angle_deg, hand_, thresholds_);
    if (force.fraction_of_jug <= best.fraction_of_jug) continue;
    best = force;
    best.index = i;
  }
  return best;
}

HandAnswer GripModel::withinReach(double rotation_deg, double wall_angle_deg) const {
  HandAnswer best;
  const int side = static_cast<int>(std::floor(thresholds_.hand_pull_fan_deg / kStep_deg + 1e-9));
  // From straight down outwards, so that the plainest of equal pulls is named.
  for (int i = 0; i <= 2 * side; ++i) {
    const double pull_deg = kStep_deg * (i % 2 ? (i + 1) / 2 : -(i / 2));
    HoldingForce force = hand({rotation_deg, wall_angle_deg, pull_deg});
    if (i > 0 && force.fraction_of_jug <= best.force.fraction_of_jug + 1e-9) continue;
    best = {force, pull_deg};
  }
  return best;
}

ToeHold GripModel::toe(double rotation_deg, double wall_angle_deg) const {
  ToeHold best;
  for (int i : grips_[static_cast<std::size_t>(stepOf(rotation_deg))]) {
    const Grip& grip = shape_.grips(i);
    ToeHold toe = toeHold(grip, askewAt(grip, grip.offset_mm()), wall_angle_deg, thresholds_);
    if (best.grip >= 0 && toe.fraction <= best.fraction) continue;
    best = toe;
    best.grip = i;
  }
  return best;
}

std::string GripModel::explain(const HoldingForce& force) const {
  if (force.source == GripSource::None || force.index < 0) return "nothing a hand can hold";
  std::string out;
  if (force.source == GripSource::Edge) {
    out = edgeText(force, shape_.grips(force.index), thresholds_) + ": " +
          countWord(force.finger_count);
  } else if (force.source == GripSource::Pocket) {
    const Pocket& pocket = shape_.pockets(force.index);
    out = text("pocket %.0f mm wide, %.0f mm high, ", pocket.width_mm().value(),
               pocket.height_mm().value()) +
          millimetres(pocket.depth_mm()) + " deep: " + countWord(force.finger_count);
  } else {
    out = "pinch " + millimetres(shape_.pinches(force.index).width_mm()) + " wide: thumb and " +
          countWord(force.finger_count);
  }
  out += ", " + withSigma(force.fraction_of_jug, force.sigma, 2) + " of a jug";
  if (force.sharp) out += "; sharp lip, hurts";
  if (force.low_confidence) out += "; so shallow that the finger's pulp decides";
  return out;
}

std::string GripModel::explain(const ToeHold& toe) const {
  if (toe.grip < 0 || !(toe.fraction > 0)) return "nothing a toe can stand on";
  std::string out = toe.slope_deg > 0.5
                        ? text("toe contact %.1f mm sloping %.0f°", toe.contact_mm, toe.slope_deg)
                    : toe.slope_deg < -0.5
                        ? text("toe contact %.1f mm, %.0f° incut", toe.contact_mm, -toe.slope_deg)
                        : text("toe contact %.1f mm, flat", toe.contact_mm);
  out += text(" over %.0f mm%s: ", toe.width_mm, toe.smear ? " (a smear)" : "") +
         withSigma(toe.fraction, toe.sigma, 2) + " of a deep edge";
  return out;
}

}  // namespace holdshelf
