// SPDX-License-Identifier: Apache-2.0
#include "catalog/grip_words.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <vector>

#include "catalog/foot_steps.h"
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

Steps judgeSteps(const GripModel& model, double wall_angle_deg) {
  const GripThresholds& t = model.thresholds();
  const auto feet = footSteps(model, wall_angle_deg);
  Steps steps;
  for (std::size_t i = 0; i < steps.size(); ++i) {
    const FootStep& foot = feet[i];
    const HoldingForce &plain = foot.plain, &reach = foot.reach.force;
    Step& step = steps[i];
    step = {plain.kind, plain.fraction_of_jug, plain.sigma, plain.borderline, plain, foot.toe};
    if (!foot.serves) continue;
    step.kind = GripKind::FootOnly;
    step.fraction = foot.toe.fraction;
    step.sigma = foot.toe.sigma;
    step.borderline = t.too_grabbable - reach.fraction_of_jug < reach.sigma ||
                      foot.toe.fraction - t.toe_fraction < foot.toe.sigma;
    step.force = reach;
  }
  return steps;
}

GripWord wordOfRange(const GripModel& model, const Steps& steps, int first, int count) {
  int best = first;
  for (int i = first; i < first + count; ++i)
    if (steps[stepIndex(i)].fraction > steps[stepIndex(best)].fraction) best = i;
  const Step& step = steps[stepIndex(best)];
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
  while (start < kSteps && steps[stepIndex(start)].kind == steps[stepIndex(start - 1)].kind)
    ++start;
  if (start == kSteps) start = 0;
  for (int i = start; i < start + kSteps;) {
    int count = 1;
    while (i + count < start + kSteps &&
           steps[stepIndex(i + count)].kind == steps[stepIndex(i)].kind)
      ++count;
    const Step& step = steps[stepIndex(i)];
    const bool noise = count == 1 && step.borderline;
    if (step.kind != GripKind::None && !noise) words.push_back(wordOfRange(model, steps, i, count));
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
