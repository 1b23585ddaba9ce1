// SPDX-License-Identifier: Apache-2.0
#include "catalog/grip_map.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

namespace holdshelf {
namespace {

constexpr int kRotations = GripModel::kSteps;
constexpr int kWallAngles = 17;
constexpr double kFirstWallAngle_deg = -20;
constexpr double kWallAngleStep_deg = 5;
constexpr double kStep_deg = 360.0 / kRotations;
constexpr double kUnit = 200;  // Stored number of a whole jug.
constexpr std::size_t kCells = static_cast<std::size_t>(kRotations) * kWallAngles;

std::size_t cellOf(int rotation, int wall_angle) {
  return static_cast<std::size_t>(rotation * kWallAngles + wall_angle);
}

char toByte(double fraction) {
  return static_cast<char>(std::lround(std::clamp(fraction, 0.0, 1.0) * kUnit));
}

double fromByte(char byte) { return static_cast<unsigned char>(byte) / kUnit; }

bool readable(const GripMap& map) {
  const auto whole = [](const std::string& bytes) { return bytes.size() == kCells; };
  return map.model_version() == kGripModelVersion && map.rotations() == kRotations &&
         map.wall_angles() == kWallAngles && whole(map.hand_fraction()) &&
         whole(map.hand_sigma()) && whole(map.hand_kind()) && whole(map.hand_words()) &&
         whole(map.reach_fraction()) && whole(map.reach_sigma()) && whole(map.toe_fraction()) &&
         whole(map.toe_sigma());
}

int wallAngleIndex(double wall_angle_deg) {
  const double index = (wall_angle_deg - kFirstWallAngle_deg) / kWallAngleStep_deg;
  return static_cast<int>(std::lround(std::clamp(index, 0.0, kWallAngles - 1.0)));
}

/// The span's member for which `better(candidate, best so far or null)` holds last.
template <typename Better>
std::optional<MountedCell> bestIn(const GripMap& map, const MountingSpan& span,
                                  const Better& better) {
  if (!readable(map)) return std::nullopt;
  const double turn_deg = span.to_deg - span.from_deg >= 360 - kStep_deg
                              ? 360 - kStep_deg
                              : wrap360(span.to_deg - span.from_deg);
  const double first = std::ceil(span.from_deg / kStep_deg - 1e-9);
  const double last = std::floor((span.from_deg + turn_deg) / kStep_deg + 1e-9);
  const bool between = last >= first;
  const double start = between ? first : std::round(span.from_deg / kStep_deg);
  const int count = between ? static_cast<int>(last - first) + 1 : 1;
  std::optional<MountedCell> best;
  for (int i = 0; i < count; ++i) {
    const double rotation_deg = wrap360((start + i) * kStep_deg);
    const MountedCell candidate{rotation_deg,
                                *lookUp(map, {rotation_deg, span.wall_angle_deg, span.pull_deg})};
    if (better(candidate.cell, best ? &best->cell : nullptr)) best = candidate;
  }
  return best;
}

unsigned wordBits(const std::vector<HoldingForce>& hands) {
  unsigned bits = 0;
  for (const HoldingForce& force : hands)
    if (force.kind != GripKind::None) bits |= 1u << static_cast<int>(force.kind);
  return bits;
}

unsigned storedWords(const GripMap& map, std::size_t cell) {
  return static_cast<unsigned>(static_cast<unsigned char>(map.hand_words()[cell])) << 1;
}

void fillRotation(const GripModel& model, int rotation, GripMap& map) {
  for (int w = 0; w < kWallAngles; ++w) {
    const double wall_angle_deg = kFirstWallAngle_deg + kWallAngleStep_deg * w;
    const std::vector<HoldingForce> hands = model.hands({rotation * kStep_deg, wall_angle_deg, 0});
    const HoldingForce force = hands.empty() ? HoldingForce() : hands.front();
    const ToeHold toe = model.toe(rotation * kStep_deg, wall_angle_deg);
    const std::size_t cell = cellOf(rotation, w);
    (*map.mutable_hand_fraction())[cell] = toByte(force.fraction_of_jug);
    (*map.mutable_hand_sigma())[cell] = toByte(force.sigma);
    (*map.mutable_hand_kind())[cell] = static_cast<char>(force.kind);
    (*map.mutable_hand_words())[cell] = static_cast<char>(wordBits(hands) >> 1);
    (*map.mutable_toe_fraction())[cell] = toByte(toe.fraction);
    (*map.mutable_toe_sigma())[cell] = toByte(toe.sigma);
  }
}

void fillReach(double fan_deg, GripMap& map) {
  const int side =
      std::min(static_cast<int>(std::floor(fan_deg / kStep_deg + 1e-9)), kRotations / 2);
  for (int rotation = 0; rotation < kRotations; ++rotation)
    for (int w = 0; w < kWallAngles; ++w) {
      const auto stored = [&](const std::string& bytes, int d) {
        return static_cast<unsigned char>(
            bytes[cellOf((rotation + d + kRotations) % kRotations, w)]);
      };
      int most = 0;  // Of equal pulls the plainest, as footSteps has it.
      for (int d = -side; d <= side; ++d)
        if (stored(map.hand_fraction(), d) > stored(map.hand_fraction(), most)) most = d;
      const std::size_t cell = cellOf(rotation, w);
      (*map.mutable_reach_fraction())[cell] = static_cast<char>(stored(map.hand_fraction(), most));
      (*map.mutable_reach_sigma())[cell] = static_cast<char>(stored(map.hand_sigma(), most));
    }
}

}  // namespace

GripMap makeGripMap(const GripModel& model) {
  GripMap map;
  map.set_model_version(kGripModelVersion);
  map.set_hand(model.handSizes().whose);
  map.set_rotations(kRotations);
  map.set_wall_angles(kWallAngles);
  map.set_first_wall_angle_deg(kFirstWallAngle_deg);
  map.set_wall_angle_step_deg(kWallAngleStep_deg);
  for (std::string* bytes :
       {map.mutable_hand_fraction(), map.mutable_hand_sigma(), map.mutable_hand_kind(),
        map.mutable_hand_words(), map.mutable_reach_fraction(), map.mutable_reach_sigma(),
        map.mutable_toe_fraction(), map.mutable_toe_sigma()})
    bytes->assign(kCells, '\0');
  tbb::parallel_for(0, kRotations, [&](int rotation) { fillRotation(model, rotation, map); });
  fillReach(model.thresholds().hand_pull_fan_deg, map);
  return map;
}

std::optional<GripCell> lookUp(const GripMap& map, const Mounting& mounting) {
  if (!readable(map)) return std::nullopt;
  const auto step = [](double angle_deg) {
    return static_cast<int>(std::lround(wrap360(angle_deg) / kStep_deg)) % kRotations;
  };
  const int w = wallAngleIndex(mounting.wall_angle_deg);
  const std::size_t pulled = cellOf(step(downPullRotation_deg(mounting)), w);
  const std::size_t turned = cellOf(step(mounting.rotation_deg), w);
  GripCell cell;
  cell.kind = static_cast<GripKind>(map.hand_kind()[pulled]);
  cell.words = storedWords(map, pulled);
  cell.hand = fromByte(map.hand_fraction()[pulled]);
  cell.hand_sigma = fromByte(map.hand_sigma()[pulled]);
  cell.reach = fromByte(map.reach_fraction()[turned]);
  cell.reach_sigma = fromByte(map.reach_sigma()[turned]);
  cell.toe = fromByte(map.toe_fraction()[turned]);
  cell.toe_sigma = fromByte(map.toe_sigma()[turned]);
  return cell;
}

unsigned wordsIn(const GripMap& map, double wall_angle_deg, const GripThresholds& t) {
  if (!readable(map)) return 0;
  unsigned words = 0;
  for (int rotation = 0; rotation < kRotations; ++rotation) {
    const std::size_t cell = cellOf(rotation, wallAngleIndex(wall_angle_deg));
    const bool foot_only = fromByte(map.reach_fraction()[cell]) <= t.too_grabbable &&
                           fromByte(map.toe_fraction()[cell]) >= t.toe_fraction;
    const unsigned hands = storedWords(map, cell);
    constexpr unsigned kPocket = 1u << static_cast<int>(GripKind::Pocket);
    const bool hands_off =
        foot_only &&
        fromByte(map.reach_fraction()[cell]) + fromByte(map.reach_sigma()[cell]) < t.too_grabbable;
    words |= hands_off ? hands & kPocket : hands;
    if (foot_only) words |= 1u << static_cast<int>(GripKind::FootOnly);
  }
  return words;
}

std::optional<MountedCell> bestHand(const GripMap& map, const MountingSpan& span) {
  return bestIn(map, span, [](const GripCell& candidate, const GripCell* best) {
    return !best || candidate.hand > best->hand;
  });
}

std::optional<MountedCell> bestFoot(const GripMap& map, const MountingSpan& span,
                                    const GripThresholds& t) {
  return bestIn(map, span, [&](const GripCell& candidate, const GripCell* best) {
    return candidate.reach <= t.too_grabbable && candidate.toe >= t.toe_fraction &&
           (!best || candidate.toe > best->toe);
  });
}

}  // namespace holdshelf
