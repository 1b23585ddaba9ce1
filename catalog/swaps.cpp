// SPDX-License-Identifier: Apache-2.0
#include "catalog/swaps.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include "catalog/bolt_bag.h"
#include "catalog/climb_record.h"
#include "catalog/climbs.h"
#include "catalog/edge_at.h"
#include "catalog/grip_map.h"
#include "catalog/grip_words.h"
#include "catalog/gym.h"
#include "catalog/hold_record.h"
#include "catalog/lip_curve.h"
#include "catalog/lip_probe.h"
#include "catalog/lost_file.h"
#include "catalog/measured_text.h"
#include "catalog/platform.h"
#include "catalog/shown_text.h"
#include "catalog/suggest.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr int kSteps = 72;
constexpr double kNotch = 0.12;         ///< Of a jug: one notch. Judgement.
constexpr double kSameForce = 0.05;     ///< Of a jug: a difference hardly felt. Judgement.
constexpr double kToeLoss = 0.15;       ///< Of a deep edge, that a foot may be worse. Judgement.
constexpr double kSmaller = 0.9;        ///< Longest extent that is called smaller. Judgement.
constexpr double kLargestDistance = 6;  ///< In small differences; farther is not "the same".
constexpr double kSameLip_mm = 0.5;     ///< Between two lips: a small difference. Judgement.
constexpr double kLargestGap_mm = 1.5;  ///< From which it is another lip. Judgement.
constexpr double kLeastWidth = 0.75;    ///< Of the old edge that a lower one must have. Judgement.

constexpr double kNoLip = std::numeric_limits<double>::infinity();

/// A hold in a mounting, with what swaps are judged by.
struct Side {
  const Shape* shape = nullptr;
  double rotation_deg = 0;
  GripCell cell;
  const Grip* edge = nullptr;
  double lip_gap_mm = kNoLip;  ///< From the old hold's lip, laid on it; only where that is asked.
};

/// None where they are damaged: one hold is no reason to offer nothing.
std::vector<LipRun> lipsOf(const Scan& scan) {
  return unlessLost([&] { return unpackLips(scan.lips()); }).value_or(std::vector<LipRun>());
}

/// The lips of a hold held against a wanted one, run by run, by the measure that search by example
/// ranks by.
struct LipGaps {
  std::vector<LipRun> runs;
  std::vector<double> gaps_mm;

  LipGaps(const LipProbe& wanted, const Scan& scan) : runs(lipsOf(scan)) {
    for (const LipRun& run : runs) gaps_mm.push_back(bestPlacement(wanted, run.curve).second);
  }
  double at(double rotation_deg) const {
    for (std::size_t i = 0; i < runs.size(); ++i)
      if (runs[i].meets(rotation_deg, rotation_deg)) return gaps_mm[i];
    return kNoLip;
  }
};

/// The lip at a rotation as a probe; nullopt where there is none.
std::optional<LipProbe> probeAt(const Scan& scan, double rotation_deg) {
  const double step_deg = wrap360(std::round(rotation_deg / LipRun::kStep_deg) * LipRun::kStep_deg);
  for (const LipRun& run : lipsOf(scan))
    if (run.meets(step_deg, step_deg)) return probeLike(run.curve);
  return std::nullopt;
}

std::optional<Side> sideOf(const Scan& scan, double rotation_deg, double wall_angle_deg) {
  const auto cell = lookUp(scan.grip_map(), {rotation_deg, wall_angle_deg, 0});
  if (!cell) return std::nullopt;
  return Side{&scan.shape(), rotation_deg, *cell, edgeAt(scan.shape(), rotation_deg), kNoLip};
}

/// How different two edges feel, in differences that a setter calls small
/// (catalog/hold_numbers.cpp).
double lipDistance(const Grip& a, const Grip& b) {
  return std::abs(a.edge_depth_mm().value() - b.edge_depth_mm().value()) / 2 +
         std::abs(a.lip_radius_mm().value() - b.lip_radius_mm().value()) / 1 +
         std::abs(a.incut_deg().value() - b.incut_deg().value()) / 5 +
         std::max(0.0, a.edge_width_mm().value() - b.edge_width_mm().value()) / 10;
}

bool surelyLess(const Measured& less, const Measured& more, double margin) {
  return less.value() < more.value() - std::max(margin, 2 * std::hypot(less.sigma(), more.sigma()));
}

/// The larger share of a palm's or a heel's support that the edge gives.
double platformShare(const Grip& edge, double wall_angle_deg, const GripThresholds& t) {
  const Platform platform = platformOf(edge, wall_angle_deg, handModel(), t);
  return std::max(platform.palm(), platform.heel());
}

/// How far the candidate, so turned, is from what is asked; nullopt: it is not what is asked.
std::optional<double> distance(const std::string& like, const Side& old, const Side& now,
                               double wall_angle_deg, const GripThresholds& t) {
  if (like == "lower") {
    if (old.edge == nullptr || now.edge == nullptr || now.lip_gap_mm > kLargestGap_mm ||
        !surelyLess(now.shape->protrusion_mm(), old.shape->protrusion_mm(), 1) ||
        platformShare(*now.edge, wall_angle_deg, t) > platformShare(*old.edge, wall_angle_deg, t) ||
        now.edge->edge_width_mm().value() < kLeastWidth * old.edge->edge_width_mm().value())
      return std::nullopt;
    return now.lip_gap_mm / kSameLip_mm;
  }
  if (like == "foot") {
    if (now.cell.reach > t.too_grabbable || now.cell.reach >= old.cell.reach ||
        now.cell.toe < t.toe_fraction)
      return std::nullopt;
    return std::max(0.0, old.cell.toe - now.cell.toe) / kToeLoss + now.cell.reach / kNotch;
  }
  if (now.cell.kind != old.cell.kind || now.cell.kind == GripKind::None) return std::nullopt;
  const double lip =
      old.edge != nullptr && now.edge != nullptr ? lipDistance(*old.edge, *now.edge) / 4 : 0;
  if (like == "smaller") {
    if (now.shape->longest_extent_mm().value() > kSmaller * old.shape->longest_extent_mm().value())
      return std::nullopt;
    return std::abs(now.cell.hand - old.cell.hand) / kSameForce + lip;
  }
  if (now.cell.hand >= old.cell.hand - kNotch / 3) return std::nullopt;
  return std::abs(old.cell.hand - kNotch - now.cell.hand) / kSameForce + lip;
}

std::string change(const char* what, double before, double now, int decimals, const char* unit) {
  return std::string(what) + " " + decimalText(before, decimals) + " → " +
         decimalText(now, decimals) + unit;
}

SwapOffer offerOf(const Hold& hold, const Side& old, const Side& now, double off,
                  double wall_angle_deg, const GripThresholds& t) {
  SwapOffer offer;
  offer.set_hold(hold.id());
  offer.set_name(hold.name());
  offer.set_bin(hold.bin());
  offer.set_rotation_deg(now.rotation_deg);
  offer.set_distance(off);
  offer.set_hand_fraction(now.cell.hand);
  offer.set_toe_fraction(now.cell.toe);
  if (now.lip_gap_mm < kNoLip) offer.set_lip_gap_mm(now.lip_gap_mm);
  offer.add_changes(change("protrusion", old.shape->protrusion_mm().value(),
                           now.shape->protrusion_mm().value(), 1, " mm"));
  offer.add_changes(change("longest", old.shape->longest_extent_mm().value(),
                           now.shape->longest_extent_mm().value(), 0, " mm"));
  offer.add_changes(change("hand", old.cell.hand, now.cell.hand, 2, " of a jug"));
  offer.add_changes(change("within reach", old.cell.reach, now.cell.reach, 2, " of a jug"));
  offer.add_changes(change("toe", old.cell.toe, now.cell.toe, 2, " of a deep edge"));
  if (old.edge == nullptr || now.edge == nullptr) return offer;
  offer.add_changes(change("edge depth", old.edge->edge_depth_mm().value(),
                           now.edge->edge_depth_mm().value(), 1, " mm"));
  offer.add_changes(change("lip radius", old.edge->lip_radius_mm().value(),
                           now.edge->lip_radius_mm().value(), 1, " mm"));
  offer.add_changes(
      change("incut", old.edge->incut_deg().value(), now.edge->incut_deg().value(), 0, "°"));
  const auto level = [&](const Side& side) {
    return platformOf(*side.edge, wall_angle_deg, handModel(), t).level();
  };
  offer.add_changes("platform " + level(old) + " → " + level(now));
  if (offer.has_lip_gap_mm())
    offer.add_changes("the lip, laid on the other, lies " + decimalText(offer.lip_gap_mm(), 2) +
                      " mm from it (root mean square)");
  return offer;
}

/// The candidate turned to where it is nearest to what is asked.
/// @param lip  The old hold's, where the lips are to be compared.
std::optional<SwapOffer> bestOffer(const std::string& like, const Hold& hold, const Side& old,
                                   const std::optional<LipProbe>& lip, double wall_angle_deg,
                                   const GripThresholds& t) {
  const Scan& scan = *currentScan(hold);
  std::optional<LipGaps> gaps;
  if (lip) gaps.emplace(*lip, scan);
  std::optional<Side> best;
  double least = 0;
  for (int step = 0; step < kSteps; ++step) {
    auto now = sideOf(scan, step * 5.0, wall_angle_deg);
    if (!now) continue;
    if (gaps) now->lip_gap_mm = gaps->at(step * 5.0);
    const auto off = distance(like, old, *now, wall_angle_deg, t);
    if (off && (!best || *off < least)) best = now, least = *off;
  }
  if (!best) return std::nullopt;
  return offerOf(hold, old, *best, least, wall_angle_deg, t);
}

/// Where the old hold hangs; not mounted yet, where it would serve best.
Mounting mountingOf(const ClimbHold& held, const Scan& scan, double wall_angle_deg,
                    const GripThresholds& t) {
  if (held.has_placement())
    return {held.placement().rotation_deg(), held.placement().wall_angle_deg(), 0};
  const MountingSpan all{0, 355, wall_angle_deg, 0};
  const auto best =
      held.foot() ? bestFoot(scan.grip_map(), all, t) : bestHand(scan.grip_map(), all);
  return {best ? best->rotation_deg : 0, wall_angle_deg, 0};
}

void explain(std::vector<SwapOffer>& offers, int considered, const std::string& like,
             SwapList& list) {
  if (!list.offers().empty()) return;
  std::string text =
      "None of " + std::to_string(considered) + " holds on the shelf is \"" + like + "\"";
  if (!offers.empty())
    text += "; the nearest, " + offers.front().hold() + ", is " +
            decimalText(offers.front().distance(), 1) + " small differences off";
  list.set_explanation(text + ".");
}

}  // namespace

SwapList findSwaps(const Library& library, const std::string& id, const std::string& hold_id,
                   const std::string& like, bool any_colour, int limit, const GripThresholds& t,
                   const Progress& progress) {
  if (like != "lower" && like != "smaller" && like != "harder" && like != "foot")
    throw BadInput("\"" + givenStart(like, 40) +
                   "\" is no kind of swap: use lower, smaller, harder or foot.");
  const Climb climb = climbOf(library, id);
  const ClimbHold* held = heldBy(climb, hold_id);
  if (held == nullptr)
    throw BadInput(givenStart(hold_id, 40) + " is not in " + id + ": holdshelf climb show " + id +
                   " lists what is.");
  const Hold old_hold = library.hold(hold_id);
  if (currentScan(old_hold) == nullptr)
    throw BadInput(hold_id + " has no scan yet: make one with holdshelf intake.");
  const double zone_deg = mainPanel(zoneNamed(gymOf(library), climb.zone())).wall_angle_deg();
  const Mounting mounting = mountingOf(*held, *currentScan(old_hold), zone_deg, t);
  const auto old = sideOf(*currentScan(old_hold), mounting.rotation_deg, mounting.wall_angle_deg);
  if (!old) throw BadInput(hold_id + " was judged by another version: scan it anew to compare it.");
  std::optional<LipProbe> lip;
  if (like == "lower") lip = probeAt(*currentScan(old_hold), mounting.rotation_deg);
  SwapList list;
  list.set_hold(hold_id);
  list.set_like(like);
  list.set_rotation_deg(mounting.rotation_deg);
  list.set_wall_angle_deg(mounting.wall_angle_deg);
  std::vector<SwapOffer> offers;
  int considered = 0;
  library.forEachHold([&](std::int64_t, const Hold& hold) {
    if (progress && !progress("looking for swaps", 0)) throw Interrupted();
    if (hold.status() != SHELF || currentScan(hold) == nullptr ||
        (!any_colour && !colourFits(hold.colour().name(), climb.colour())))
      return;
    ++considered;
    if (auto offer = bestOffer(like, hold, *old, lip, mounting.wall_angle_deg, t))
      offers.push_back(std::move(*offer));
  });
  std::stable_sort(offers.begin(), offers.end(), [](const SwapOffer& a, const SwapOffer& b) {
    return a.distance() < b.distance();
  });
  for (const SwapOffer& offer : offers)
    if (list.offers_size() < limit && offer.distance() <= kLargestDistance)
      *list.add_offers() = offer;
  explain(offers, considered, like, list);
  list.add_cautions(gripCaution());
  if (like == "lower") list.add_cautions(topOutCaution());
  if (like == "foot") list.add_cautions(footCaution());
  list.add_cautions("Another hold has another seat: choose and record its bolt anew.");
  for (const std::string& caution : boltCautions()) list.add_cautions(caution);
  return list;
}

std::string swapText(const SwapList& list) {
  std::string text;
  for (const SwapOffer& offer : list.offers()) {
    text += offer.hold() + " " + offer.name() + " (" +
            (offer.bin().empty() ? "no bin" : offer.bin()) + "), turned " +
            decimalText(offer.rotation_deg(), 0) + "°\n";
    for (const std::string& line : offer.changes()) text += "    " + line + "\n";
  }
  if (!list.explanation().empty()) text += list.explanation() + "\n";
  for (const std::string& caution : list.cautions()) text += caution + "\n";
  return text;
}

}  // namespace holdshelf
