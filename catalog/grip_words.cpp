// SPDX-License-Identifier: Apache-2.0
#include "catalog/grip_words.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <optional>
#include <vector>

#include "catalog/foot_steps.h"
#include "catalog/grip_model.h"

namespace holdshelf {
namespace {

constexpr int kSteps = GripModel::kSteps;
constexpr double kStep_deg = 360.0 / kSteps;

/// One word at one step, with what it rests on.
struct WordAt {
  GripKind kind = GripKind::None;
  double fraction = 0, sigma = 0;
  bool borderline = false;
  HoldingForce force;
  ToeHold toe;
};

/// One word at every step that deserves it.
using Steps = std::array<std::optional<WordAt>, kSteps>;

WordAt footOnly(const FootStep& foot, const GripThresholds& t) {
  const HoldingForce& reach = foot.reach.force;
  const bool borderline = t.too_grabbable - reach.fraction_of_jug < reach.sigma ||
                          foot.toe.fraction - t.toe_fraction < foot.toe.sigma;
  return {GripKind::FootOnly, foot.toe.fraction, foot.toe.sigma, borderline, reach, foot.toe};
}

std::array<Steps, kGripKinds> judgeSteps(const GripModel& model, double wall_angle_deg) {
  const auto feet = footSteps(model, wall_angle_deg);
  std::array<Steps, kGripKinds> of_kind;
  for (std::size_t i = 0; i < feet.size(); ++i) {
    for (const HoldingForce& force : feet[i].hands)
      of_kind[static_cast<std::size_t>(force.kind)][i] =
          WordAt{force.kind, force.fraction_of_jug, force.sigma, force.borderline, force, {}};
    if (feet[i].serves)
      of_kind[static_cast<std::size_t>(GripKind::FootOnly)][i] =
          footOnly(feet[i], model.thresholds());
  }
  return of_kind;
}

GripWord wordOfRange(const GripModel& model, const Steps& steps, int first, int count) {
  int best = first;
  for (int i = first; i < first + count; ++i)
    if (steps[stepIndex(i)]->fraction > steps[stepIndex(best)]->fraction) best = i;
  const WordAt& at = *steps[stepIndex(best)];
  GripWord word;
  word.set_word(std::string(wordOf(at.kind)));
  word.set_from_deg(first * kStep_deg);
  word.set_to_deg((first + count - (count == kSteps ? 0 : 1)) * kStep_deg);
  word.set_best_deg(wrap360(best * kStep_deg));
  word.set_fraction_of_jug(at.fraction);
  word.set_sigma(at.sigma);
  word.set_borderline(at.borderline);
  word.set_reason(at.kind == GripKind::FootOnly
                      ? model.explain(at.toe) + "; hands: " + model.explain(at.force)
                      : model.explain(at.force));
  return word;
}

void addRanges(const GripModel& model, const Steps& steps, std::vector<GripWord>& words) {
  // Start where a range begins, so that none is cut at 0.
  int start = 0;
  while (start < kSteps && !(steps[stepIndex(start)] && !steps[stepIndex(start - 1)])) ++start;
  if (start == kSteps) {
    if (steps[0]) words.push_back(wordOfRange(model, steps, 0, kSteps));
    return;
  }
  for (int i = start; i < start + kSteps;) {
    int count = 0;
    while (count < kSteps && steps[stepIndex(i + count)]) ++count;
    const bool noise = count == 1 && steps[stepIndex(i)]->borderline;
    if (count > 0 && !noise) words.push_back(wordOfRange(model, steps, i, count));
    i += std::max(count, 1);
  }
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
  std::vector<GripWord> words;
  for (const Steps& steps : judgeSteps(model, wall_angle_deg)) addRanges(model, steps, words);
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

const std::string& topOutCaution() {
  static const std::string caution =
      "Whether a climb is safe to top out over, and whether its bolts hold, qualified people "
      "decide on the wall, by the makers' instructions and the standards in force.";
  return caution;
}

const std::string& footCaution() {
  static const std::string caution =
      "A foothold can still be grabbed, slip or turn: stand on it and pull on it on the wall "
      "before opening; the standards in force and qualified people decide.";
  return caution;
}

}  // namespace holdshelf
