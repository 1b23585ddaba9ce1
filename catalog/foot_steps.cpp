// SPDX-License-Identifier: Apache-2.0
#include "catalog/foot_steps.h"

#include <algorithm>
#include <cmath>

namespace holdshelf {

std::size_t stepIndex(int step) {
  constexpr int n = GripModel::kSteps;
  return static_cast<std::size_t>((step % n + n) % n);
}

std::array<FootStep, GripModel::kSteps> footSteps(const GripModel& model, double wall_angle_deg) {
  constexpr double kStep_deg = 360.0 / GripModel::kSteps;
  const GripThresholds& t = model.thresholds();
  const int fan = std::min(static_cast<int>(std::floor(t.hand_pull_fan_deg / kStep_deg + 1e-9)),
                           GripModel::kSteps / 2);
  std::array<FootStep, GripModel::kSteps> steps;
  for (int i = 0; i < GripModel::kSteps; ++i) {
    FootStep& step = steps[stepIndex(i)];
    step.hands = model.hands({i * kStep_deg, wall_angle_deg, 0});
    if (!step.hands.empty()) step.plain = step.hands.front();
    std::erase_if(step.hands, [](const HoldingForce& h) { return h.kind == GripKind::None; });
    step.toe = model.toe(i * kStep_deg, wall_angle_deg);
  }
  for (int i = 0; i < GripModel::kSteps; ++i) {
    FootStep& step = steps[stepIndex(i)];
    step.reach = {step.plain, 0};  // Of equal pulls the plainest is named.
    for (int d = -fan; d <= fan; ++d) {
      const HoldingForce& other = steps[stepIndex(i - d)].plain;
      if (other.fraction_of_jug > step.reach.force.fraction_of_jug + 1e-9)
        step.reach = {other, d * kStep_deg};
    }
    step.serves =
        step.reach.force.fraction_of_jug <= t.too_grabbable && step.toe.fraction >= t.toe_fraction;
    if (step.serves && step.reach.force.fraction_of_jug + step.reach.force.sigma < t.too_grabbable)
      std::erase_if(step.hands, [](const HoldingForce& h) { return h.kind != GripKind::Pocket; });
  }
  return steps;
}

std::vector<GripKind> wordsAt(const GripModel& model, const Mounting& mounting) {
  std::vector<GripKind> words;
  std::vector<HoldingForce> hands = model.hands(mounting);
  if (mounting.pull_deg == 0) {
    const auto steps = footSteps(model, mounting.wall_angle_deg);
    const FootStep& step = steps[stepIndex(
        static_cast<int>(std::lround(mounting.rotation_deg * GripModel::kSteps / 360.0)))];
    if (step.serves) words.push_back(GripKind::FootOnly);
    hands = step.hands;
  }
  for (const HoldingForce& force : hands)
    if (force.kind != GripKind::None) words.push_back(force.kind);
  return words;
}

}  // namespace holdshelf
