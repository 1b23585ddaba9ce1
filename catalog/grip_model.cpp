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
constexpr double kLipReach_mm = 6;  // Of a pocket's lip beyond its straight walls.

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

/// "14.2 ± 0.3"; an uncertainty that rounds to zero reads "± <0.1", never "± 0.0", and one that is
/// no number "± ?".
std::string withSigma(double value, double sigma, int decimals) {
  if (!std::isfinite(sigma)) return text("%.*f ± ?", decimals, value);
  const double last_digit = std::pow(10, -decimals);
  return sigma < last_digit / 2 ? text("%.*f ± <%.*f", decimals, value, decimals, last_digit)
                                : text("%.*f ± %.*f", decimals, value, decimals, sigma);
}

/// "14.2 ± 0.3 mm".
std::string millimetres(const Measured& measured) {
  return withSigma(measured.value(), measured.sigma(), 1) + " mm";
}

/// "12° incut ", "20° sloping ", or nothing for what is nearly square to gravity.
std::string slopeWords(double incut_deg, const GripThresholds& t) {
  if (incut_deg >= t.jug_incut_deg) return text("%.0f° incut ", incut_deg);
  if (incut_deg <= -t.jug_incut_deg) return text("%.0f° sloping ", -incut_deg);
  return "";
}

std::string edgeText(const HoldingForce& force, const Grip& grip, const GripThresholds& t) {
  std::string face = slopeWords(force.incut_deg, t);
  if (face.empty()) face = "flat ";
  const bool bar = isBar(grip, t);
  const bool round = grip.lip_radius_mm().value() > 0.5 * grip.edge_depth_mm().value();
  const char* noun = bar ? "bar" : round ? "rounding" : "edge";
  if (bar) face = "wrapped ";
  std::string out = face + noun + " " + millimetres(grip.edge_depth_mm()) + " deep over " +
                    text("%.0f mm", grip.edge_width_mm().value());
  if (bar || round) out += text(" (radius %.0f mm)", grip.lip_radius_mm().value());
  return out;
}

/// The pull as an angle from the hold's +x: straight down turned back with the hold.
double pullInHold_deg(const Mounting& mounting) { return -90 - downPullRotation_deg(mounting); }

/// A pocket's floor is measured as an edge too: the same fingers, so the pocket names it.
bool isFloorOf(const Grip& grip, const Pocket& pocket) {
  if (grip.edge_width_mm().value() >= 1.25 * pocket.width_mm().value()) return false;
  const double turn = grip.rotation_deg() * (3.14159265358979323846 / 180);
  const double right =
      pocket.centre_mm().x() * std::cos(turn) - pocket.centre_mm().y() * std::sin(turn);
  const double up =
      pocket.centre_mm().x() * std::sin(turn) + pocket.centre_mm().y() * std::cos(turn);
  const double size = std::max(pocket.width_mm().value(), pocket.height_mm().value());
  return std::abs(grip.offset_mm() - right) < size / 2 &&
         std::abs(grip.lip_height_mm() - up) < size / 2 + kLipReach_mm;
}

/// Of the pocket's floor under the pull it was measured for: the median of the edges that look up
/// within 30 degrees of it; straight in where none was measured.
double floorIncut_deg(const Shape& shape, const Pocket& pocket) {
  std::vector<double> incuts;
  for (const Grip& grip : shape.grips())
    if (isFloorOf(grip, pocket) &&
        angleBetween_deg(-90 - grip.rotation_deg(), pocket.direction_deg()) <= 30)
      incuts.push_back(grip.incut_deg().value());
  if (incuts.empty()) return 0;
  const auto middle = incuts.begin() + static_cast<std::ptrdiff_t>(incuts.size() / 2);
  std::nth_element(incuts.begin(), middle, incuts.end());
  return *middle;
}

void keepStronger(const HoldingForce& force, std::array<HoldingForce, kGripKinds>& of_kind) {
  if (force.source == GripSource::None) return;
  HoldingForce& best = of_kind[static_cast<std::size_t>(force.kind)];
  if (best.source == GripSource::None || force.fraction_of_jug > best.fraction_of_jug) best = force;
}

}  // namespace

GripModel::GripModel(const Shape& shape, const HandModel& hand, const GripThresholds& thresholds)
    : shape_(shape), hand_(hand), thresholds_(thresholds) {
  for (int i = 0; i < shape.grips_size(); ++i) {
    grips_[static_cast<std::size_t>(stepOf(shape.grips(i).rotation_deg()))].push_back(i);
    room_mm_.push_back(roomAboveGrip_mm(shape, shape.grips(i)));
    pocket_floor_.push_back(
        std::any_of(shape.pockets().begin(), shape.pockets().end(),
                    [&](const Pocket& pocket) { return isFloorOf(shape.grips(i), pocket); }));
  }
  for (const Pocket& pocket : shape.pockets())
    floor_incut_deg_.push_back(floorIncut_deg(shape, pocket));
}

void GripModel::addEdges(int step, double wall_angle_deg, Strongest& of_kind) const {
  for (int i : grips_[static_cast<std::size_t>(step)]) {
    if (pocket_floor_[static_cast<std::size_t>(i)]) continue;
    HoldingForce force = edgeForce(shape_.grips(i), wall_angle_deg,
                                   room_mm_[static_cast<std::size_t>(i)], hand_, thresholds_);
    force.index = i;
    keepStronger(force, of_kind);
  }
}

void GripModel::addPockets(int step, const Mounting& mounting, Strongest& of_kind) const {
  const double pull_deg = pullInHold_deg(mounting);
  const auto add = [&](const Pocket& pocket, double incut_deg, double askew_deg, int index) {
    HoldingForce force =
        pocketForce(pocket, incut_deg, askew_deg, mounting.wall_angle_deg, hand_, thresholds_);
    force.index = index;
    keepStronger(force, of_kind);
  };
  for (int i = 0; i < shape_.pockets_size(); ++i) {
    const Pocket& pocket = shape_.pockets(i);
    for (int g : grips_[static_cast<std::size_t>(step)]) {
      const Grip& grip = shape_.grips(g);
      if (!isFloorOf(grip, pocket)) continue;
      Pocket as_pulled = pocket;  // A round one is a pocket for every pull.
      *as_pulled.mutable_width_mm() = grip.edge_width_mm();
      *as_pulled.mutable_depth_mm() = grip.edge_depth_mm();
      add(as_pulled, grip.incut_deg().value(), 0, i);
    }
    add(pocket, floor_incut_deg_[static_cast<std::size_t>(i)],
        angleBetween_deg(pocket.direction_deg(), pull_deg), i);
  }
}

void GripModel::addPinches(const Mounting& mounting, Strongest& of_kind) const {
  const double pull_deg = pullInHold_deg(mounting);
  for (int i = 0; i < shape_.pinches_size(); ++i) {
    const double across_deg = angleBetween_deg(shape_.pinches(i).direction_deg(), pull_deg);
    HoldingForce force = pinchingForce(shape_.pinches(i), std::min(across_deg, 180 - across_deg),
                                       mounting.wall_angle_deg, hand_, thresholds_);
    force.index = i;
    keepStronger(force, of_kind);
  }
}

std::vector<HoldingForce> GripModel::hands(const Mounting& mounting) const {
  const int step = stepOf(downPullRotation_deg(mounting));
  Strongest of_kind;
  addEdges(step, mounting.wall_angle_deg, of_kind);
  addPockets(step, mounting, of_kind);
  addPinches(mounting, of_kind);
  std::vector<HoldingForce> hands;
  for (const HoldingForce& force : of_kind)
    if (force.source != GripSource::None) hands.push_back(force);
  std::stable_sort(hands.begin(), hands.end(), [](const HoldingForce& a, const HoldingForce& b) {
    return a.fraction_of_jug > b.fraction_of_jug;
  });
  if (hands.empty()) return hands;
  const double least = thresholds_.other_word_share * hands.front().fraction_of_jug;
  const auto unnamed = [&](const HoldingForce& force) {
    return force.kind == GripKind::None ||
           (force.kind != GripKind::Pocket && force.fraction_of_jug < least);
  };
  hands.erase(std::remove_if(hands.begin() + 1, hands.end(), unnamed), hands.end());
  return hands;
}

HoldingForce GripModel::hand(const Mounting& mounting) const {
  const std::vector<HoldingForce> all = hands(mounting);
  return all.empty() ? HoldingForce() : all.front();
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
    out = slopeWords(force.incut_deg, thresholds_) +
          text("pocket %.0f mm wide, %.0f mm high, ", force.pocket_width_mm,
               shape_.pockets(force.index).height_mm().value()) +
          withSigma(force.pocket_depth_mm, force.pocket_depth_sigma_mm, 1) +
          " mm deep: " + countWord(force.finger_count);
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
