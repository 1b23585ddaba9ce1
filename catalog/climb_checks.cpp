// SPDX-License-Identifier: Apache-2.0
#include "catalog/climb_checks.h"

#include <algorithm>

#include "catalog/bolt_advice.h"
#include "catalog/bolt_bag.h"
#include "catalog/check_dismissal.h"
#include "catalog/climb_change.h"
#include "catalog/climb_record.h"
#include "catalog/climbs.h"
#include "catalog/edge_at.h"
#include "catalog/grip_verdict.h"
#include "catalog/grip_words.h"
#include "catalog/gym.h"
#include "catalog/hold_record.h"
#include "catalog/measured_text.h"
#include "catalog/recorded_bolt.h"
#include "catalog/shown_text.h"
#include "catalog/swaps.h"
#include "catalog/wear.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr int kSwapsTried = 3;
// Differences that matter when what was set aside is looked at again. Judgements.
constexpr double kForceStep = 0.05;    ///< Of a jug, of a palm.
constexpr double kSharpStep_mm = 0.2;  ///< Of a lip radius.
constexpr double kWearStep_mm = 0.5;   ///< Of a lip's growth.
constexpr double kLostStep_mm3 = 50;   ///< Of material gone in chips.

/// What all checks of one climb share.
struct Round {
  const Library& library;
  Climb climb;
  Gym gym;
  GripThresholds thresholds;
  ClimbChecks result;
  bool cures = true;  ///< Whether to look for them.
  Progress progress = {};
  BoltSettings bolts = {};

  /// @param grade     What was found, in a word.
  /// @param severity  Among checks of the kind, in differences that matter.
  ClimbCheck& fail(const std::string& kind, const ClimbHold& held, const std::string& reason,
                   const std::string& grade, double severity) {
    ClimbCheck& check = *result.add_checks();
    check.set_kind(kind);
    check.set_grade(grade);
    check.set_severity(severity);
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
  if (!round.cures) return;
  const SwapList swaps = findSwaps(round.library, round.climb.id(), held.hold(), like, false,
                                   kSwapsTried, round.thresholds, round.progress);
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
  ClimbCheck& check = round.fail(
      "feet", held, verdict.sentence(), grabbable ? "too grabbable" : "no toe",
      (grabbable ? verdict.strongest().fraction_of_jug() : -verdict.toe().fraction()) / kForceStep);
  if (!round.cures) return;
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
  // Placed by a note: nobody knows how far below.
  const WallFeature* edge = held.placement().row() > 0 ? nullptr : topEdgeOf(panel);
  if (!top && edge == nullptr) return;
  const Platform& p = verdict.platform();
  ClimbCheck& check = round.fail(
      "top-out", held,
      (top ? decimalText(top->below_mm, 0) + " mm below " + top->feature->name()
           : "Placed by a note, \"" + held.placement().note() + "\", on a panel with " +
                 edge->name() + ": say how far below it is, by its nearest T-nut") +
          ", and " + decimalText(p.depth_mm(), 0) + " mm by " + decimalText(p.width_mm(), 0) +
          " mm of it is flat enough to press down or stand up on: " + decimalText(p.palm(), 2) +
          " of a palm, " + decimalText(p.heel(), 2) + " of a heel.",
      top ? "near" : "how far not said", std::max(p.palm(), p.heel()) / kForceStep);
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
  round.fail(
      "sharp", held,
      "Has " + radius + "; below " + decimalText(round.thresholds.sharp_radius_mm, 1) +
          " mm skin suffers.",
      "sharp",
      edge == nullptr || edge->lip_sharp() ? 0 : -edge->lip_radius_mm().value() / kSharpStep_mm);
}

/// "M10 × 55", "2 screws 5 × 16".
std::string advisedText(const BoltAdvice& advice) {
  if (advice.label().empty()) return "none can be advised";
  if (advice.screws() > 0)
    return std::to_string(advice.screws()) + (advice.screws() == 1 ? " screw " : " screws ") +
           advice.screw() + (advice.screws() == 1 ? " is" : " are") +
           " advised: " + decimalText(advice.engagement_mm(), 1) + " mm of each in the panel";
  return advice.label() + " is advised: " + decimalText(advice.engagement_mm(), 1) +
         " mm in the panel's thread";
}

/// That a bolt is recorded, and one that fits the panel it is in.
void checkBolt(Round& round, const ClimbHold& held, const BoltQuestion& question) {
  const BoltAdvice advice = adviseBolt(question, round.bolts);
  if (!held.bolt().empty()) {
    const auto fault = judgeRecorded(held.bolt(), question, round.bolts);
    if (!fault) return;
    // Like any cure it was tried, and passes.
    const bool other = !advice.label().empty() && fault->grade != "not judged" &&
                       !judgeRecorded(advice.label(), question, round.bolts);
    round.fail("bolt", held,
               fault->reason + (other ? " Instead, " + advisedText(advice) + "." : ""),
               fault->grade, fault->severity);
    return;
  }
  std::string reason = held.former_bolt().empty()
                           ? "No bolt is recorded"
                           : "No bolt is recorded since it was moved to a panel that is fixed "
                             "otherwise (before: " +
                                 held.former_bolt() + ")";
  reason += (advice.label().empty() ? ", and " : "; ") + advisedText(advice) + ".";
  for (const std::string& warning : advice.warnings()) reason += " " + warning;
  round.fail("bolt", held, reason, "not recorded", 0);
}

/// Growth of the most worn lip and what is chipped off, in differences that matter.
double wornBy(const Wear& wear) {
  double lost_mm3 = 0;
  for (const LostChunk& chunk : wear.chunks()) lost_mm3 += chunk.volume_mm3().value();
  return surestGrowth_mm(wear) / kWearStep_mm + lost_mm3 / kLostStep_mm3;
}

void checkWear(Round& round, const ClimbHold& held, const Hold& hold) {
  if (hold.scans_size() < 2) return;
  const Wear wear = wearOf(round.library, held.hold(), {}, round.progress);
  // A grade may name both: "worn, chipped".
  if (wear.grade().find("worn") != std::string::npos ||
      wear.grade().find("chipped") != std::string::npos)
    round.fail("worn", held, wear.grade() + ": " + wear.reason(), wear.grade(), wornBy(wear));
}

/// The checks of one hold; of one kind where that is said.
void checkHold(Round& round, const ClimbHold& held, const BoltQuestion& question,
               const std::string& only = "") {
  if (round.progress && !round.progress("checking the climb", 0)) throw Interrupted();
  const auto asked = [&](const char* kind) { return only.empty() || only == kind; };
  const Hold hold = round.library.hold(held.hold());
  if (!isHere(hold, round.climb.id())) {
    round.fail("place", held,
               "Is recorded " + statusText(hold.status()) + ", no longer in this climb.",
               statusText(hold.status()), 0);
    return;
  }
  if (!held.has_placement()) {
    round.fail("place", held, "Is in the crate: not mounted yet.", "not mounted", 0);
    return;
  }
  if (asked("bolt")) checkBolt(round, held, question);
  if (currentScan(hold) == nullptr) {
    round.fail("scan", held, "No scan: feet, top-out and lip were not judged; look for yourself.",
               "no scan", 0);
    return;
  }
  if (asked("feet") || asked("top-out") || asked("sharp")) {
    const GripVerdict verdict = verdictOf(round, held.hold(), mountingOf(held.placement()));
    if (asked("feet")) checkFoot(round, held, verdict);
    if (asked("top-out")) checkTop(round, held, verdict);
    if (asked("sharp")) checkLip(round, held, verdict);
  }
  if (asked("worn")) checkWear(round, held, hold);
}

/// Calls back with each hold of the climb that is not gone, and the question of its bolt.
template <typename Visit>
void forEachHeld(const Round& round, Visit visit) {
  const auto questions = climbBoltQuestions(round.library, round.climb);
  std::size_t next = 0;
  for (const ClimbHold& held : round.climb.holds())
    if (held.gone().empty()) visit(held, questions.at(next++));
}

}  // namespace

ClimbChecks checkClimb(const Library& library, const std::string& id,
                       const GripThresholds& thresholds, const Progress& progress,
                       const BoltSettings& bolts) {
  Round round{library, climbOf(library, id), gymOf(library), thresholds, {}};
  round.bolts = bolts;
  round.progress = progress;
  round.result.set_climb(id);
  forEachHeld(round, [&](const ClimbHold& held, const BoltQuestion& question) {
    checkHold(round, held, question);
  });
  applyDismissals(round.climb, round.result);
  round.result.add_cautions(gripCaution());
  round.result.add_cautions(topOutCaution());
  for (const std::string& caution : boltCautions()) round.result.add_cautions(caution);
  if (bolts.washer_mm == 0)
    round.result.add_cautions(
        "Bolts are judged without a washer: one takes its thickness off the thread that is held.");
  return round.result;
}

ClimbCheck openCheck(const Library& library, const std::string& id, const std::string& kind,
                     const std::string& hold, const GripThresholds& thresholds,
                     const Progress& progress) {
  Round round{library, climbOf(library, id), gymOf(library), thresholds, {}, false, progress};
  if (heldBy(round.climb, hold) == nullptr) checkHeld(library, round.climb, hold);
  forEachHeld(round, [&](const ClimbHold& held, const BoltQuestion& question) {
    if (held.hold() == hold) checkHold(round, held, question, kind);
  });
  applyDismissals(round.climb, round.result);
  for (const ClimbCheck& check : round.result.checks()) {
    if (check.kind() != kind) continue;
    if (!check.has_dismissed()) return check;
    throw BadInput("The check \"" + kind + "\" of " + hold + " is set aside already, by " +
                   check.dismissed().who() + ": " + check.dismissed().reason());
  }
  throw BadInput("The check \"" + givenStart(kind, 40) + "\" of " + givenStart(hold, 40) +
                 " is not open in " + id + ": holdshelf climb check " + id + " lists what is.");
}

std::string checksText(const ClimbChecks& checks) {
  std::string text;
  for (const ClimbCheck& check : checks.checks()) {
    text += (check.has_dismissed() ? "(set aside) " : "! ") + check.kind() + ", " + check.hold() +
            " " + check.name() + ": " + check.reason() + "\n";
    if (check.has_dismissed())
      text += "    " + check.dismissed().who() + ": " + check.dismissed().reason() + "\n";
    if (check.has_reopened())
      text += "    open again: set aside by " + check.reopened().who() + " (" +
              check.reopened().reason() + ") when it was: " + check.reopened().found() + "\n";
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
