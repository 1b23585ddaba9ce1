// SPDX-License-Identifier: Apache-2.0
#include "catalog/grip_verdict.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include "catalog/clearance.h"
#include "catalog/foot_steps.h"
#include "catalog/grip_words.h"
#include "catalog/platform.h"

namespace holdshelf {
namespace {

constexpr int kSteps = GripModel::kSteps;
constexpr double kStep_deg = 360.0 / kSteps;

std::string number(const char* format, double value) {
  char text[48];
  std::snprintf(text, sizeof text, format, value);
  return text;
}

using FootSteps = std::array<FootStep, kSteps>;

FootRange rangeOf(const GripModel& model, const FootSteps& steps, int first, int count) {
  int best = first;
  for (int i = first; i < first + count; ++i)
    if (steps[stepIndex(i)].toe.fraction > steps[stepIndex(best)].toe.fraction) best = i;
  const FootStep& step = steps[stepIndex(best)];
  FootRange range;
  range.set_from_deg(first * kStep_deg);
  range.set_to_deg((first + count - (count == kSteps ? 0 : 1)) * kStep_deg);
  range.set_best_deg(wrap360(best * kStep_deg));
  range.set_hand_fraction(step.reach.force.fraction_of_jug);
  range.set_toe_fraction(step.toe.fraction);
  range.set_reason(model.explain(step.toe) + "; for hands only " + model.explain(step.reach.force));
  return range;
}

void addRoom(const GripModel& model, const Grip& grip, double wall_angle_deg,
             GripVerdict& verdict) {
  const auto clearance =
      clearanceOf(model.shape(), grip, wall_angle_deg, model.handSizes(), model.thresholds());
  if (!clearance) return;
  LipRoom& room = *verdict.mutable_room();
  room.set_open_above(!std::isfinite(clearance->room_above_mm));
  if (!room.open_above()) room.set_above_mm(clearance->room_above_mm);
  room.set_fits_hand(clearance->fits_hand);
  room.set_wrist_bend_deg(clearance->wrist_bend_deg);
  room.set_wrist_free(clearance->wrist_free);
}

/// What the wall context says about the edge that the pull finds; where a pocket or a pinch is
/// stronger, platform and room are those of the edge that a toe finds under the straight pull.
void addLip(const GripModel& model, const HandAnswer& pulled, const ToeHold& toe,
            double wall_angle_deg, GripVerdict& verdict) {
  const bool edge = pulled.force.source == GripSource::Edge;
  const int index = edge ? pulled.force.index : pulled.pull_deg == 0 ? toe.grip : -1;
  if (index < 0) return;
  const Grip& grip = model.shape().grips(index);
  if (edge)
    verdict.set_lip_positive(compareWith(pulled.force.incut_deg, 0, grip.incut_deg().sigma()));
  *verdict.mutable_platform() =
      platformOf(grip, wall_angle_deg, model.handSizes(), model.thresholds());
  addRoom(model, grip, wall_angle_deg, verdict);
}

std::string pullText(double pull_deg) {
  if (pull_deg == 0) return "";
  const double side = std::abs(pull_deg);
  if (side == 180) return ", as an undercling";
  return number(", pulled %.0f° to the ", side) + (pull_deg > 0 ? "right" : "left");
}

/// The answer in a word.
std::string footWord(const GripVerdict& v) {
  if (v.too_grabbable() == GripVerdict::YES) return "Too grabbable";
  if (v.too_grabbable() == GripVerdict::BORDERLINE) return "Borderline grabbable";
  if (v.serves_toe() == GripVerdict::NO) return "Neither hand nor foot";
  return v.serves_toe() == GripVerdict::BORDERLINE ? "Borderline foothold" : "Foothold";
}

/// What keeps hands off, for what is too grabbable.
std::string cureText(const GripVerdict& v) {
  if (v.foot_ranges().empty())
    return "; no rotation serves a toe and keeps hands off at this wall angle";
  const FootRange& cure = v.foot_ranges(0);
  std::string out = "; turned to " + rangeText(cure) + ": " + cure.reason();
  for (int i = 1; i < v.foot_ranges_size(); ++i)
    out += (i == 1 ? "; also at " : ", ") + rangeText(v.foot_ranges(i));
  return out;
}

/// "Too grabbable: ..."; the cure follows when there is one.
std::string sentenceOf(const std::string& why, const GripVerdict& v) {
  const std::string out = footWord(v) + ": ";
  if (v.too_grabbable() != GripVerdict::NO) return out + why + cureText(v) + ".";
  if (v.serves_toe() == GripVerdict::NO) return out + why + "; " + v.toe().reason() + ".";
  return out + v.toe().reason() + "; for hands only " + why + ".";
}

/// The same beside the reasons of hand and toe: a hand's only where another pull finds a better
/// grip.
std::string footSentenceOf(const std::string& why, const GripVerdict& v) {
  std::string out = footWord(v);
  const bool another = v.strongest().reason() != v.hand().reason();
  const bool foot = v.too_grabbable() == GripVerdict::NO && v.serves_toe() != GripVerdict::NO;
  if (another) out += (foot ? "; for hands only " : ": ") + why;
  if (v.too_grabbable() != GripVerdict::NO) out += cureText(v);
  return out + ".";
}

}  // namespace

GripVerdict::Answer compareWith(double value, double threshold, double sigma) {
  // Asked this way round, what is no number is borderline too: nobody knows on which side it lies.
  if (!(std::abs(value - threshold) >= sigma)) return GripVerdict::BORDERLINE;
  return value > threshold ? GripVerdict::YES : GripVerdict::NO;
}

HandGrip describe(const GripModel& model, const HandAnswer& answer) {
  const HoldingForce& force = answer.force;
  HandGrip grip;
  grip.set_word(std::string(wordOf(force.kind)));
  grip.set_fraction_of_jug(force.fraction_of_jug);
  grip.set_sigma(force.sigma);
  grip.set_pull_deg(answer.pull_deg);
  if (force.source == GripSource::Edge || force.source == GripSource::Pocket)
    grip.set_technique(std::string(nameOf(force.technique)));
  grip.set_fingers(force.finger_count);
  grip.set_contact_mm(force.contact_mm);
  grip.set_slope_deg(force.slope_deg);
  grip.set_incut_deg(force.incut_deg);
  grip.set_finger_factor(force.fingers);
  grip.set_contact_factor(force.contact);
  grip.set_bar_factor(force.bar);
  grip.set_wrap_factor(force.wrap);
  grip.set_slope_factor(force.slope);
  grip.set_sharp(force.sharp);
  grip.set_low_confidence(force.low_confidence);
  grip.set_borderline(force.borderline);
  grip.set_reason(model.explain(force));
  return grip;
}

ToeStand describe(const GripModel& model, const ToeHold& toe) {
  ToeStand stand;
  stand.set_fraction(toe.fraction);
  stand.set_sigma(toe.sigma);
  stand.set_contact_mm(toe.contact_mm);
  stand.set_slope_deg(toe.slope_deg);
  stand.set_width_mm(toe.width_mm);
  stand.set_stable_area_mm2(toe.stable_area_mm2);
  stand.set_smear(toe.smear);
  stand.set_sharp(toe.sharp);
  stand.set_reason(model.explain(toe));
  return stand;
}

std::vector<FootRange> footRanges(const GripModel& model, const FootSteps& steps) {
  std::vector<FootRange> ranges;
  int start = 0;  // Where a range begins, so that none is cut at 0.
  while (start < kSteps && steps[stepIndex(start)].serves == steps[stepIndex(start - 1)].serves)
    ++start;
  if (start == kSteps) start = 0;
  for (int i = start; i < start + kSteps;) {
    int count = 1;
    while (i + count < start + kSteps &&
           steps[stepIndex(i + count)].serves == steps[stepIndex(i)].serves)
      ++count;
    if (steps[stepIndex(i)].serves) ranges.push_back(rangeOf(model, steps, i, count));
    i += count;
  }
  std::stable_sort(ranges.begin(), ranges.end(), [](const FootRange& a, const FootRange& b) {
    return a.toe_fraction() > b.toe_fraction();
  });
  return ranges;
}

std::string rangeText(const FootRange& range) {
  if (range.to_deg() - range.from_deg() >= 360) return "any rotation";
  std::string from = number("%.0f°", wrap360(range.from_deg()));
  if (range.to_deg() == range.from_deg()) return from;
  return from + "–" + number("%.0f°", wrap360(range.to_deg()));
}

GripVerdict verdictAt(const GripModel& model, const Mounting& mounting) {
  const GripThresholds& t = model.thresholds();
  const double wall_angle_deg = mounting.wall_angle_deg;
  const std::vector<HoldingForce> hands = model.hands(mounting);
  const HandAnswer pulled{hands.empty() ? HoldingForce() : hands.front(), mounting.pull_deg};
  const FootSteps steps = footSteps(model, wall_angle_deg);
  const FootStep& here =
      steps[stepIndex(static_cast<int>(std::lround(mounting.rotation_deg / kStep_deg)))];
  const HandAnswer& reach = here.reach;
  const ToeHold& toe = here.toe;
  GripVerdict verdict;
  verdict.set_rotation_deg(mounting.rotation_deg);
  verdict.set_wall_angle_deg(wall_angle_deg);
  verdict.set_pull_deg(mounting.pull_deg);
  *verdict.mutable_hand() = describe(model, pulled);
  for (const HoldingForce& force : hands)
    if (force.kind != GripKind::None)
      *verdict.add_hands() = describe(model, {force, mounting.pull_deg});
  *verdict.mutable_strongest() = describe(model, reach);
  *verdict.mutable_toe() = describe(model, toe);
  verdict.set_too_grabbable(
      compareWith(reach.force.fraction_of_jug, t.too_grabbable, reach.force.sigma));
  verdict.set_serves_toe(compareWith(toe.fraction, t.toe_fraction, toe.sigma));
  for (FootRange& range : footRanges(model, steps)) *verdict.add_foot_ranges() = std::move(range);
  addLip(model, pulled, toe, wall_angle_deg, verdict);
  const std::string why = model.explain(reach.force) + pullText(reach.pull_deg);
  verdict.set_sentence(sentenceOf(why, verdict));
  verdict.set_foot_sentence(footSentenceOf(why, verdict));
  verdict.set_hand_model(model.handSizes().whose);
  verdict.add_cautions(gripCaution());
  return verdict;
}

}  // namespace holdshelf
