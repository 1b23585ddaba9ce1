// SPDX-License-Identifier: Apache-2.0
#include "catalog/feet.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <vector>

#include "catalog/foot_steps.h"
#include "catalog/grip_verdict.h"
#include "catalog/grip_words.h"

namespace holdshelf {
namespace {

/// How sure a foothold is: 2 beyond the uncertainties of hand and toe, 1 within them, 0 none.
int sureness(double toe, double toe_sigma, double hand, double hand_sigma,
             const GripThresholds& t) {
  if (toe < t.toe_fraction || hand > t.too_grabbable) return 0;
  return toe - toe_sigma >= t.toe_fraction && hand + hand_sigma <= t.too_grabbable ? 2 : 1;
}

/// The rotation to offer: of the surest the best score.
double bestRotation_deg(const GripModel& model, double wall_angle_deg) {
  const auto steps = footSteps(model, wall_angle_deg);
  const auto sure = [&](const FootStep& step) {
    const HoldingForce& hand = step.reach.force;
    return sureness(step.toe.fraction, step.toe.sigma, hand.fraction_of_jug, hand.sigma,
                    model.thresholds());
  };
  const auto score = [](const FootStep& step) {
    return step.toe.fraction * (1 - step.reach.force.fraction_of_jug);
  };
  std::size_t best = 0;
  for (std::size_t i = 1; i < steps.size(); ++i)
    if (sure(steps[i]) != sure(steps[best]) ? sure(steps[i]) > sure(steps[best])
                                            : score(steps[i]) > score(steps[best]) + 1e-9)
      best = i;
  return static_cast<double>(best) * 360.0 / GripModel::kSteps;
}

FootChoice judge(const FootCandidate& candidate, double wall_angle_deg, const HandModel& hand,
                 const GripThresholds& t) {
  const GripModel model(*candidate.shape, hand, t);
  const double rotation_deg = bestRotation_deg(model, wall_angle_deg);
  const GripVerdict verdict = verdictAt(model, {rotation_deg, wall_angle_deg, 0});
  FootChoice choice;
  choice.set_hold_id(candidate.hold_id);
  choice.set_name(candidate.name);
  choice.set_bin(candidate.bin);
  choice.set_rotation_deg(rotation_deg);
  choice.set_wall_angle_deg(wall_angle_deg);
  *choice.mutable_toe() = verdict.toe();
  *choice.mutable_strongest() = verdict.strongest();
  *choice.mutable_ranges() = verdict.foot_ranges();
  choice.set_too_grabbable(verdict.too_grabbable());
  choice.set_serves_toe(verdict.serves_toe());
  choice.set_score(verdict.toe().fraction() * (1 - verdict.strongest().fraction_of_jug()));
  choice.set_chosen(verdict.toe().fraction() >= t.toe_fraction &&
                    verdict.strongest().fraction_of_jug() <= t.too_grabbable);
  choice.set_sentence(verdict.sentence());
  return choice;
}

}  // namespace

FootRanking rankFeet(std::span<const FootCandidate> candidates, double wall_angle_deg,
                     const HandModel& hand, const GripThresholds& thresholds) {
  std::vector<FootChoice> choices(candidates.size());
  tbb::parallel_for(std::size_t{0}, candidates.size(), [&](std::size_t i) {
    choices[i] = judge(candidates[i], wall_angle_deg, hand, thresholds);
  });
  std::stable_sort(choices.begin(), choices.end(), [&](const FootChoice& a, const FootChoice& b) {
    const auto sure = [&](const FootChoice& choice) {
      return sureness(choice.toe().fraction(), choice.toe().sigma(),
                      choice.strongest().fraction_of_jug(), choice.strongest().sigma(), thresholds);
    };
    if (sure(a) != sure(b)) return sure(a) > sure(b);
    return a.score() > b.score();
  });
  FootRanking ranking;
  ranking.set_wall_angle_deg(wall_angle_deg);
  for (FootChoice& choice : choices) *ranking.add_choices() = std::move(choice);
  ranking.add_cautions(gripCaution());
  return ranking;
}

}  // namespace holdshelf
