// SPDX-License-Identifier: Apache-2.0
#include "catalog/holding_force.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "catalog/finger_placement.h"
#include "catalog/lip_contact.h"
#include "catalog/pad_factors.h"
#include "catalog/pinch_force.h"

namespace holdshelf {
namespace {

using Four = std::array<double, 4>;

constexpr double kDeg = 3.14159265358979323846 / 180;
constexpr Technique kTechniques[] = {Technique::OpenHand, Technique::HalfCrimp,
                                     Technique::FullCrimp};

/// Load shares of index, middle, ring, little finger. Only the order is published (Fuss & Niegl,
/// Sports Technology 2012;5:151-155: closed crimp index > middle > ring > little; open middle >
/// index = ring > little); the numbers are judgement.
const Four& loadShares(Technique technique) {
  static constexpr Four kOpen{0.25, 0.30, 0.25, 0.20}, kClosed{0.29, 0.27, 0.24, 0.20};
  return technique == Technique::FullCrimp ? kClosed : kOpen;
}

Four fingerRoom(const HandModel& hand, const GripThresholds& t) {
  Four room = hand.finger_breadth_mm;
  for (double& breadth : room) breadth *= t.finger_packing;
  return room;
}

/// Neighbouring fingers and the room they take.
struct FingerGroup {
  int count = 0;
  double room_mm = 0;
};

/// The most neighbouring fingers that go into an opening whole, of equal numbers the broader ones
/// (the stronger); a finger half in a pocket is not in it.
FingerGroup wholeFingersIn(double width_mm, const Four& room) {
  FingerGroup most;
  for (std::size_t first = 0; first < room.size(); ++first) {
    FingerGroup group;
    for (std::size_t i = first; i < room.size() && group.room_mm + room[i] <= width_mm; ++i)
      group = {group.count + 1, group.room_mm + room[i]};
    if (group.count > most.count || (group.count == most.count && group.room_mm > most.room_mm))
      most = group;
  }
  return most;
}

EdgePlaceState placeOf(const Grip& grip, double wall_angle_deg, double room_mm,
                       const GripThresholds& t) {
  EdgePlaceState at;
  at.profile = profileOf(grip);
  at.askew = askewAt(grip, grip.offset_mm());
  at.room_mm = room_mm;
  at.is_bar = isBar(grip, t);
  at.wall_angle_deg = wall_angle_deg;
  at.friction = t.skin_friction;
  return at;
}

/// The places fingers can stand on, with what does not depend on the technique.
struct Stand {
  std::vector<PlaceValue> places;
  std::vector<PadFactors> pads;
};

Stand standOn(const Grip& grip, const EdgePlaceState& best, const HandModel& hand,
              const GripThresholds& t) {
  Stand stand;
  if (grip.run_size() < 2) {
    const double half = grip.edge_width_mm().value() / 2;
    stand.places = {{grip.offset_mm() - half, 0}, {grip.offset_mm() + half, 0}};
    stand.pads.assign(2, commonFactors(best, hand, t));
    return stand;
  }
  for (const EdgePlace& place : grip.run()) {
    EdgePlaceState at = best;
    at.profile.depth_mm = place.depth_mm();
    at.askew = askewAt(grip, place.offset_mm());
    stand.places.push_back({place.offset_mm(), 0});
    stand.pads.push_back(commonFactors(at, hand, t));
  }
  return stand;
}

double square(double x) { return x * x; }

/// Standard uncertainty of the value of a pad, from each measured number moved by its own.
double measuredSigma(const Grip& grip, const EdgePlaceState& best, Technique technique,
                     const HandModel& hand, const GripThresholds& t) {
  const auto value = [&](const EdgePlaceState& at) {
    return withTechnique(commonFactors(at, hand, t), technique, hand, t).value();
  };
  EdgePlaceState deeper = best, rounder = best, steeper = best;
  deeper.profile.depth_mm += grip.edge_depth_mm().sigma();
  rounder.profile.radius_mm += grip.lip_radius_mm().sigma();
  steeper.profile.incut_deg -= grip.incut_deg().sigma();
  const double nominal = value(best);
  return std::sqrt(square(value(deeper) - nominal) + square(value(rounder) - nominal) +
                   square(value(steeper) - nominal));
}

void addUncertainty(HoldingForce& force, const Grip& grip, const EdgePlaceState& best, double cover,
                    const HandModel& hand, const GripThresholds& t) {
  const double width = grip.edge_width_mm().value();
  const double of_width =
      cover < 0.999 && width > 0
          ? force.fraction_of_jug * std::min(1.0, grip.edge_width_mm().sigma() / width)
          : 0;
  force.sigma_measured =
      std::hypot(force.fingers * measuredSigma(grip, best, force.technique, hand, t), of_width);
  // Guesswork is not measured: half of its share of the force is open.
  force.sigma_measured =
      std::hypot(force.sigma_measured, 0.5 * grip.guesswork_share() * force.fraction_of_jug);
  EdgePlaceState slipperier = best;
  slipperier.friction -= t.skin_friction_sigma;
  force.sigma_friction = std::abs(
      force.fraction_of_jug -
      force.fingers *
          withTechnique(commonFactors(slipperier, hand, t), force.technique, hand, t).value());
}

/// The word of an edge by where its force comes from; sets borderline when a deciding number lies
/// within its uncertainty of its threshold.
void nameEdge(HoldingForce& force, double sigma_depth_mm, double sigma_incut_deg, bool is_bar,
              const GripThresholds& t) {
  const auto over = [&](double value, double threshold, double sigma) {
    if (std::abs(value - threshold) < sigma) force.borderline = true;
    return value >= threshold;
  };
  force.kind = GripKind::None;
  if (!over(force.fraction_of_jug, t.min_hand_fraction, force.sigma)) return;
  const double whole_hand = force.fingers > 0 ? force.fraction_of_jug / force.fingers : 0;
  const bool deep = is_bar || over(force.contact_mm, t.jug_contact_mm, sigma_depth_mm);
  if (deep && force.finger_count >= t.jug_fingers &&
      over(whole_hand, t.jug_fraction, force.sigma) &&
      (is_bar || over(force.incut_deg, t.jug_incut_deg, sigma_incut_deg))) {
    force.kind = GripKind::Jug;
  } else if (!over(force.contact_mm, t.crimp_contact_mm, sigma_depth_mm)) {
    force.kind = GripKind::Crimp;
  } else if (over(force.slope_deg, t.sloper_slope_deg, sigma_incut_deg)) {
    force.kind = GripKind::Sloper;
  } else {
    force.kind = GripKind::Edge;
  }
}

void setFactors(HoldingForce& force, const PadFactors& pad) {
  force.contact = pad.contact_share;
  force.wrap = pad.wrap;
  force.bar = pad.bar;
  force.slope = pad.slope;
  force.contact_mm = pad.contact.length_mm;
  force.contact_depth_mm = pad.contact.depth_mm;
  force.slope_deg = pad.contact.slope_deg;
  force.incut_deg = pad.contact.incut_deg;
}

void addPulpDoubt(HoldingForce& force, const GripThresholds& t) {
  force.low_confidence = force.contact_mm < t.pulp_limit_mm;
  // Forces on 2.8 and 4.3 mm do not follow those on 12.5 mm (Bourne et al. 2011): half is open.
  force.sigma_pulp = force.low_confidence ? 0.5 * force.fraction_of_jug : 0;
  force.sigma = std::sqrt(square(force.sigma_measured) + square(force.sigma_friction) +
                          square(force.sigma_pulp));
}

}  // namespace

bool isBar(const Grip& grip, const GripThresholds& t) {
  const double depth_mm = grip.edge_depth_mm().value();
  return grip.lip_sweep_deg() >= t.bar_sweep_deg && depth_mm >= t.finger_room_mm &&
         depth_mm >= 1.5 * grip.lip_radius_mm().value();
}

double askewAt(const Grip& grip, double offset_mm) {
  if (grip.run_size() < 2) return 0;
  // Over a finger's half breadth to both sides; further on a large round lip, whose outermost point
  // noise moves along its flat top.
  const double reach_mm = std::max(8.0, 0.5 * grip.lip_radius_mm().value());
  double n = 0, x = 0, y = 0, xx = 0, xy = 0;
  const auto first = std::lower_bound(
      grip.run().begin(), grip.run().end(), offset_mm - reach_mm,
      [](const EdgePlace& place, double offset) { return place.offset_mm() < offset; });
  for (auto place = first; place != grip.run().end(); ++place) {
    const double along = place->offset_mm() - offset_mm;
    if (along > reach_mm) break;
    n += 1, x += along, y += place->lip_height_mm();
    xx += along * along, xy += along * place->lip_height_mm();
  }
  const double spread = n * xx - x * x;
  return spread > 1e-6 ? (n * xy - x * y) / spread : 0;  // Slope of the least squares line.
}

HoldingForce edgeForce(const Grip& grip, double wall_angle_deg, double room_mm,
                       const HandModel& hand, const GripThresholds& t) {
  HoldingForce force;
  const EdgePlaceState best = placeOf(grip, wall_angle_deg, room_mm, t);
  const PadFactors common = commonFactors(best, hand, t);
  Stand stand = standOn(grip, best, hand, t);
  const Four room = fingerRoom(hand, t);
  double cover = 0;
  for (Technique technique : kTechniques) {
    for (std::size_t i = 0; i < stand.places.size(); ++i)
      stand.places[i].value = withTechnique(stand.pads[i], technique, hand, t).value();
    const FingerPlacement placed = placeFingers(stand.places, room, loadShares(technique));
    if (placed.share <= force.fraction_of_jug) continue;
    const PadFactors pad = withTechnique(common, technique, hand, t);
    setFactors(force, pad);
    force.fraction_of_jug = placed.share;
    force.technique = technique;
    force.finger_count = placed.fingers;
    force.fingers = pad.value() > 0 ? placed.share / pad.value() : 0;
    cover = placed.cover;
  }
  if (!(force.fraction_of_jug > 0)) {
    setFactors(force, common);
    return force;
  }
  force.source = GripSource::Edge;
  force.sharp = grip.lip_sharp() || grip.lip_radius_mm().value() < t.sharp_radius_mm;
  addUncertainty(force, grip, best, cover, hand, t);
  addPulpDoubt(force, t);
  nameEdge(force, grip.edge_depth_mm().sigma(), grip.incut_deg().sigma(), best.is_bar, t);
  return force;
}

HoldingForce pocketForce(const Pocket& pocket, double incut_deg, double askew_deg,
                         double wall_angle_deg, const HandModel& hand, const GripThresholds& t) {
  HoldingForce force;
  const FingerGroup group = wholeFingersIn(pocket.width_mm().value(), fingerRoom(hand, t));
  if (askew_deg >= 90 || group.count == 0 ||
      pocket.height_mm().value() < 0.8 * hand.finger_breadth_mm[0])
    return force;
  Grip floor;  // The pocket's floor is an edge as wide as the fingers that its walls let in.
  *floor.mutable_edge_depth_mm() = pocket.depth_mm();
  *floor.mutable_edge_width_mm() = pocket.width_mm();
  floor.mutable_edge_width_mm()->set_value(group.room_mm);
  floor.mutable_incut_deg()->set_value(incut_deg);
  floor.mutable_lip_radius_mm()->set_value(t.sharp_radius_mm);
  force = edgeForce(floor, wall_angle_deg, t.finger_room_mm, hand, t);
  // Walls on both sides hold the fingers against slipping sideways, but only what pulls along the
  // floor's normal loads it.
  const double along = std::cos(askew_deg * kDeg);
  force.fraction_of_jug *= along;
  force.fingers *= along;
  force.sigma_measured *= along;
  force.sigma_friction *= along;
  addPulpDoubt(force, t);
  if (force.source == GripSource::None) return force;
  force.source = GripSource::Pocket;
  force.finger_count = group.count;
  force.pocket_width_mm = pocket.width_mm().value();
  force.pocket_depth_mm = pocket.depth_mm().value();
  force.pocket_depth_sigma_mm = pocket.depth_mm().sigma();
  force.sharp = false;
  force.borderline = std::abs(force.fraction_of_jug - t.min_hand_fraction) < force.sigma;
  force.kind = force.fraction_of_jug >= t.min_hand_fraction ? GripKind::Pocket : GripKind::None;
  return force;
}

HoldingForce pinchingForce(const Pinch& pinch, double pull_to_closing_deg, double wall_angle_deg,
                           const HandModel& hand, const GripThresholds& t) {
  const PinchFaces faces{pinch.width_mm().value(), pinch.taper_deg().value(),
                         pinch.height_mm().value(), pinch.length_mm().value()};
  const auto hold = [&](PinchFaces changed, double friction) {
    return pinchForce(changed, pull_to_closing_deg, wall_angle_deg, friction, hand, t);
  };
  const PinchHold nominal = hold(faces, t.skin_friction);
  HoldingForce force;
  if (!(nominal.fraction > 0)) return force;
  force.source = GripSource::Pinch;
  force.fraction_of_jug = nominal.fraction;
  force.fingers = nominal.fingers / 4;
  force.finger_count = std::max(1, static_cast<int>(std::floor(nominal.fingers + 0.5)));
  force.contact_mm = force.contact_depth_mm = faces.height_mm;
  PinchFaces wider = faces, steeper = faces, higher = faces, longer = faces;
  wider.width_mm += pinch.width_mm().sigma();
  steeper.taper_deg += pinch.taper_deg().sigma();
  higher.height_mm += pinch.height_mm().sigma();
  longer.length_mm += pinch.length_mm().sigma();
  double variance = 0;
  for (const PinchFaces& changed : {wider, steeper, higher, longer})
    variance += square(hold(changed, t.skin_friction).fraction - nominal.fraction);
  force.sigma_measured = std::sqrt(variance);
  force.sigma_friction =
      std::abs(hold(faces, t.skin_friction - t.skin_friction_sigma).fraction - nominal.fraction);
  force.sigma = std::hypot(force.sigma_measured, force.sigma_friction);
  force.borderline = std::abs(force.fraction_of_jug - t.min_hand_fraction) < force.sigma;
  force.kind = force.fraction_of_jug >= t.min_hand_fraction ? GripKind::Pinch : GripKind::None;
  return force;
}

}  // namespace holdshelf
