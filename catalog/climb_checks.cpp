// SPDX-License-Identifier: Apache-2.0
#include "catalog/climb_checks.h"

#include <algorithm>

#include "catalog/bolt_length.h"
#include "catalog/climb_record.h"
#include "catalog/climbs.h"
#include "catalog/edge_at.h"
#include "catalog/grip_verdict.h"
#include "catalog/grip_words.h"
#include "catalog/gym.h"
#include "catalog/hold_record.h"
#include "catalog/measured_text.h"
#include "catalog/swaps.h"
#include "catalog/wear.h"

namespace holdshelf {
namespace {

constexpr int kSwapsTried = 3;

/// What all checks of one climb share.
struct Round {
  const Library& library;
  Climb climb;
  Gym gym;
  GripThresholds thresholds;
  ClimbChecks result;

  ClimbCheck& fail(const std::string& kind, const ClimbHold& held, const std::string& reason) {
    ClimbCheck& check = *result.add_checks();
    check.set_kind(kind);
    check.set_hold(held.hold());
    check.set_name(held.name());
    check.set_reason(reason);
    return check;
  }
};

/// The whole verdict on a hold in a mounting.
GripVerdict verdictOf(const Round& round, const std::string& hold, const Mounting& mounting) {
  const Scan scan = round.library.currentFullScan(hold);
  return verdictAt(GripModel(scan.shape(), handModel(), round.thresholds), mounting);
}

Mounting mountingOf(const Placement& placement) {
  return {placement.rotation_deg(), placement.wall_angle_deg(), 0};
}

/// Swaps of a kind that pass when judged where the hold hangs.
template <typename Passes>
void addSwaps(const Round& round, const ClimbHold& held, const std::string& like, Passes passes,
              ClimbCheck& check) {
  const SwapList swaps = findSwaps(round.library, round.climb.id(), held.hold(), like, false,
                                   kSwapsTried, round.thresholds);
  for (const SwapOffer& offer : swaps.offers()) {
    const GripVerdict verdict = verdictOf(
        round, offer.hold(), {offer.rotation_deg(), held.placement().wall_angle_deg(), 0});
    if (!passes(verdict)) continue;
    Cure& cure = *check.add_cures();
    cure.set_swap(offer.hold());
    cure.set_rotation_deg(offer.rotation_deg());
    cure.set_text("Swap for " + offer.hold() + " " + offer.name() + " (" + offer.bin() +
                  "), turned " + decimalText(offer.rotation_deg(), 0) + "°: " +
                  (like == "foot"
                       ? verdict.sentence()
                       : offer.changes(0) + ", its lip " + decimalText(offer.lip_gap_mm(), 2) +
                             " mm from this one's, platform now " + verdict.platform().level() +
                             "."));
  }
}

void checkFoot(Round& round, const ClimbHold& held, const GripVerdict& verdict) {
  if (!held.foot()) return;
  const bool grabbable = verdict.too_grabbable() == GripVerdict::YES ||
                         verdict.too_grabbable() == GripVerdict::BORDERLINE;
  if (!grabbable && verdict.serves_toe() != GripVerdict::NO) return;
  ClimbCheck& check = round.fail("feet", held, verdict.sentence());
  for (const FootRange& range : verdict.foot_ranges()) {
    const GripVerdict turned =
        verdictOf(round, held.hold(), {range.best_deg(), held.placement().wall_angle_deg(), 0});
    if (turned.too_grabbable() != GripVerdict::NO || turned.serves_toe() == GripVerdict::NO)
      continue;
    Cure& cure = *check.add_cures();
    cure.set_rotation_deg(range.best_deg());
    cure.set_text("Turn it to " + decimalText(range.best_deg(), 0) + "°: " + turned.sentence());
    break;
  }
  addSwaps(
      round, held, "foot",
      [](const GripVerdict& v) {
        return v.too_grabbable() == GripVerdict::NO && v.serves_toe() != GripVerdict::NO;
      },
      check);
}

void checkTop(Round& round, const ClimbHold& held, const GripVerdict& verdict) {
  if (verdict.platform().level() != "high") return;
  const WallPanel& panel =
      panelNamed(zoneNamed(round.gym, round.climb.zone()), held.placement().panel());
  const auto top = nearTop(round.gym, panel, held.placement());
  if (!top) return;
  const Platform& p = verdict.platform();
  ClimbCheck& check = round.fail(
      "top-out", held,
      decimalText(top->below_mm, 0) + " mm below " + top->feature->name() + ", and " +
          decimalText(p.depth_mm(), 0) + " mm by " + decimalText(p.width_mm(), 0) +
          " mm of it is flat enough to press down or stand up on: " + decimalText(p.palm(), 2) +
          " of a palm, " + decimalText(p.heel(), 2) + " of a heel.");
  addSwaps(
      round, held, "lower", [](const GripVerdict& v) { return v.platform().level() != "high"; },
      check);
}

void checkLip(Round& round, const ClimbHold& held, const GripVerdict& verdict) {
  if (held.foot() || !verdict.hand().sharp()) return;
  const Scan scan = round.library.currentFullScan(held.hold());
  const Grip* edge = edgeAt(scan.shape(), held.placement().rotation_deg());
  const std::string radius = edge == nullptr || edge->lip_sharp()
                                 ? "a lip radius below what the scan resolves"
                                 : "a lip radius of " + measuredText(edge->lip_radius_mm(), "mm");
  round.fail("sharp", held,
             "Has " + radius + "; below " + decimalText(round.thresholds.sharp_radius_mm, 1) +
                 " mm skin suffers.");
}

void checkBolt(Round& round, const ClimbHold& held, const BoltAdvice& advice) {
  if (!held.bolt().empty()) return;
  round.fail("bolt", held,
             "No bolt is recorded" +
                 (advice.label().empty()
                      ? std::string(", and none can be advised")
                      : "; " + advice.label() + " is advised: " +
                            decimalText(advice.engagement_mm(), 1) + " mm in the panel's thread") +
                 ".");
}

void checkWear(Round& round, const ClimbHold& held, const Hold& hold, const Progress& progress) {
  if (hold.scans_size() < 2) return;
  const Wear wear = wearOf(round.library, held.hold(), {}, progress);
  // A grade may name both: "worn, chipped".
  if (wear.grade().find("worn") != std::string::npos ||
      wear.grade().find("chipped") != std::string::npos)
    round.fail("worn", held, wear.grade() + ": " + wear.reason());
}

void checkHold(Round& round, const ClimbHold& held, const BoltAdvice& advice,
               const Progress& progress) {
  const Hold hold = round.library.hold(held.hold());
  const bool here = (hold.status() == CRATE && hold.crate() == round.climb.id()) ||
                    (hold.status() == WALL && hold.climb() == round.climb.id());
  if (!here) {
    round.fail("place", held,
               "Is recorded " + statusText(hold.status()) + ", no longer in this climb.");
    return;
  }
  if (!held.has_placement()) {
    round.fail("place", held, "Is in the crate: not mounted yet.");
    return;
  }
  checkBolt(round, held, advice);
  if (currentScan(hold) == nullptr) return;
  const GripVerdict verdict = verdictOf(round, held.hold(), mountingOf(held.placement()));
  checkFoot(round, held, verdict);
  checkTop(round, held, verdict);
  checkLip(round, held, verdict);
  checkWear(round, held, hold, progress);
}

/// Marks what was set aside, and puts it last.
void applyDismissals(Round& round) {
  for (ClimbCheck& check : *round.result.mutable_checks())
    for (const Dismissal& d : round.climb.dismissals())
      if (!d.outdated() && d.check() == check.kind() && d.hold() == check.hold())
        *check.mutable_dismissed() = d;
  auto& checks = *round.result.mutable_checks();
  const auto aside =
      std::stable_partition(checks.pointer_begin(), checks.pointer_end(),
                            [](const ClimbCheck* check) { return !check->has_dismissed(); });
  round.result.set_open(static_cast<int>(aside - checks.pointer_begin()));
}

}  // namespace

ClimbChecks checkClimb(const Library& library, const std::string& id,
                       const GripThresholds& thresholds, const Progress& progress) {
  Round round{library, climbOf(library, id), gymOf(library), thresholds, {}};
  round.result.set_climb(id);
  const auto questions = climbBoltQuestions(library, round.climb);
  std::size_t next = 0;  // The questions are of the holds that are not gone, in order.
  for (const ClimbHold& held : round.climb.holds()) {
    if (!held.gone().empty()) continue;
    checkHold(round, held, adviseBolt(questions.at(next++), {}), progress);
  }
  applyDismissals(round);
  round.result.add_cautions(gripCaution());
  round.result.add_cautions(
      "Whether a climb is safe to top out over, and whether its bolts hold, qualified people "
      "decide "
      "on the wall, by the makers' instructions and the standards in force.");
  return round.result;
}

std::string checksText(const ClimbChecks& checks) {
  std::string text;
  for (const ClimbCheck& check : checks.checks()) {
    text += (check.has_dismissed() ? "(set aside) " : "! ") + check.kind() + ", " + check.hold() +
            " " + check.name() + ": " + check.reason() + "\n";
    if (check.has_dismissed())
      text += "    " + check.dismissed().who() + ": " + check.dismissed().reason() + "\n";
    for (const Cure& cure : check.cures()) text += "    → " + cure.text() + "\n";
  }
  text += checks.open() == 0
              ? "Nothing is open.\n"
              : std::to_string(checks.open()) +
                    (checks.open() == 1 ? " check is open.\n" : " checks are open.\n");
  for (const std::string& caution : checks.cautions()) text += caution + "\n";
  return text;
}

}  // namespace holdshelf
