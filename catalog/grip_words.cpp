// SPDX-License-Identifier: Apache-2.0
#include "catalog/grip_words.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <vector>

#include "catalog/grip_model.h"

namespace holdshelf {
namespace {

constexpr int kSteps = GripModel::kSteps;
constexpr double kStep_deg = 360.0 / kSteps;

/// The word of one step, with what it rests on.
struct Step {
  GripKind kind = GripKind::None;
  double fraction = 0, sigma = 0;
  bool borderline = false;
  HoldingForce force;
  ToeHold toe;
};

using Steps = std::array<Step, kSteps>;

std::size_t at(int step) { return static_cast<std::size_t>((step + kSteps) % kSteps); }

Steps judgeSteps(const GripModel& model, double wall_angle_deg) {
  const GripThresholds& t = model.thresholds();
  Steps steps;
  for (int i = 0; i < kSteps; ++i) {
    Step& step = steps[at(i)];
    step.force = model.hand({i * kStep_deg, wall_angle_deg, 0});
    step.toe = model.toe(i * kStep_deg, wall_angle_deg);
    step.kind = step.force.kind;
    step.fraction = step.force.fraction_of_jug;
    step.sigma = step.force.sigma;
    step.borderline = step.force.borderline;
  }
  // Foot-only needs every pull within reach, which is the same map at neighbouring steps.
  const int fan = static_cast<int>(std::floor(t.hand_pull_fan_deg / kStep_deg + 1e-9));
  for (int i = 0; i < kSteps; ++i) {
    const HoldingForce* reach = &steps[at(i)].force;
    for (int d = -fan; d <= fan; ++d) {
      const HoldingForce& other = steps[at(i + d)].force;
      if (other.fraction_of_jug > reach->fraction_of_jug) reach = &other;
    }
    Step& step = steps[at(i)];
    if (reach->fraction_of_jug > t.too_grabbable || step.toe.fraction < t.toe_fraction) continue;
    step.kind = GripKind::FootOnly;
    step.fraction = step.toe.fraction;
    step.sigma = step.toe.sigma;
    step.borderline = t.too_grabbable - reach->fraction_of_jug < reach->sigma ||
                      step.toe.fraction - t.toe_fraction < step.toe.sigma;
  }
  return steps;
}

GripWord wordOfRange(const GripModel& model, const Steps& steps, int first, int count) {
  int best = first;
  for (int i = first; i < first + count; ++i)
    if (steps[at(i)].fraction > steps[at(best)].fraction) best = i;
  const Step& step = steps[at(best)];
  GripWord word;
  word.set_word(std::string(wordOf(step.kind)));
  word.set_from_deg(first * kStep_deg);
  word.set_to_deg((first + count - (count == kSteps ? 0 : 1)) * kStep_deg);
  word.set_best_deg(wrap360(best * kStep_deg));
  word.set_fraction_of_jug(step.fraction);
  word.set_sigma(step.sigma);
  word.set_borderline(step.borderline);
  std::string reason = step.kind == GripKind::FootOnly
                           ? model.explain(step.toe) + "; hands: " + model.explain(step.force)
                           : model.explain(step.force);
  word.set_reason(reason);
  return word;
}

GripWord volumeWord(const Shape& shape, double extent_mm, const GripThresholds& t) {
  GripWord word;
  word.set_word(std::string(wordOf(GripKind::Volume)));
  word.set_from_deg(0);
  word.set_to_deg(360);
  char reason[160];
  std::snprintf(reason, sizeof reason,
                "%.0f mm long and %.0f mm off the wall: larger than the %.0f mm of a hold",
                extent_mm, shape.protrusion_mm().value(), t.volume_extent_mm);
  word.set_reason(reason);
  const double sigma = shape.longest_extent_mm().sigma();
  word.set_borderline(std::abs(extent_mm - t.volume_extent_mm) < sigma);
  return word;
}

}  // namespace

std::vector<GripWord> gripWords(const Shape& shape, const GripThresholds& thresholds,
                                double wall_angle_deg, const HandModel& hand) {
  const GripModel model(shape, hand, thresholds);
  const Steps steps = judgeSteps(model, wall_angle_deg);
  std::vector<GripWord> words;
  // Start where a new word begins, so that no range is cut at 0.
  int start = 0;
  while (start < kSteps && steps[at(start)].kind == steps[at(start - 1)].kind) ++start;
  if (start == kSteps) start = 0;
  for (int i = start; i < start + kSteps;) {
    int count = 1;
    while (i + count < start + kSteps && steps[at(i + count)].kind == steps[at(i)].kind) ++count;
    if (steps[at(i)].kind != GripKind::None) words.push_back(wordOfRange(model, steps, i, count));
    i += count;
  }
  std::stable_sort(words.begin(), words.end(), [](const GripWord& a, const GripWord& b) {
    return a.fraction_of_jug() > b.fraction_of_jug();
  });
  const double extent_mm = shape.longest_extent_mm().value();
  if (extent_mm > thresholds.volume_extent_mm)
    words.insert(words.begin(), volumeWord(shape, extent_mm, thresholds));
  return words;
}

const std::string& gripCaution() {
  static const std::string caution =
      "A scan sees shape only: skin, rubber, chalk, dirt and people vary. Test climb before "
      "opening.";
  return caution;
}

}  // namespace holdshelf
