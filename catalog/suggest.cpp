// SPDX-License-Identifier: Apache-2.0
#include "catalog/suggest.h"

#include <algorithm>
#include <cmath>
#include <set>
#include <vector>

#include "catalog/climbs.h"
#include "catalog/compression.h"
#include "catalog/edge_at.h"
#include "catalog/grip_map.h"
#include "catalog/grip_words.h"
#include "catalog/gym.h"
#include "catalog/hold_record.h"
#include "catalog/measured_text.h"
#include "catalog/wish_list.h"

namespace holdshelf {
namespace {

constexpr int kSteps = 72;
constexpr double kStep_deg = 5;
constexpr double kIncut_deg = 3;    ///< From which a face is called incut: judgement.
constexpr double kLargestMiss = 4;  ///< Farther holds are no help.

/// By how much a value misses its limits, in units of a small difference; 0 limits are open.
double outside(double value, double least, double most, double small) {
  if (least > 0 && value < least) return (least - value) / small;
  return most > 0 && value > most ? (value - most) / small : 0;
}

bool anyPositiveLip(const Shape& shape, double wall_angle_deg) {
  return std::any_of(shape.grips().begin(), shape.grips().end(), [&](const Grip& grip) {
    return grip.edge_depth_mm().value() >= 10 && grip.incut_deg().value() > wall_angle_deg;
  });
}

double edgeMiss(const Wish& wish, const Grip& edge) {
  return outside(edge.lip_radius_mm().value(), wish.least_lip_radius_mm(),
                 wish.most_lip_radius_mm(), 1) +
         outside(edge.edge_depth_mm().value(), wish.least_depth_mm(), wish.most_depth_mm(), 2) +
         (wish.incut() ? std::max(0.0, kIncut_deg - edge.incut_deg().value()) / 5 : 0);
}

bool needsEdge(const Wish& w) {
  return w.incut() || w.least_lip_radius_mm() > 0 || w.most_lip_radius_mm() > 0 ||
         w.least_depth_mm() > 0 || w.most_depth_mm() > 0 || w.compression();
}

/// Friction short of holding when the face is squeezed from the side, in tenths; the face must not
/// be one to pull on.
double squeezeMiss(const Grip& edge, double wall_angle_deg, const GripThresholds& t) {
  const double slope_deg = std::max(0.0, -edge.incut_deg().value());
  const double needed = compressionFriction(slope_deg, 0, wall_angle_deg, t.compression_squeeze);
  return std::min(9.0, std::max(0.0, needed - t.skin_friction) / t.skin_friction_sigma) +
         std::max(0.0, edge.incut_deg().value()) / 5;
}

bool kindFits(const Wish& wish, const GripCell& cell, const GripThresholds& t) {
  if (wish.grip().empty()) return cell.kind != GripKind::None;
  if (wish.grip() == "foot-only")
    return cell.toe >= t.toe_fraction && cell.reach <= t.too_grabbable;
  return wordOf(cell.kind) == wish.grip();
}

struct Candidate {
  Hold hold;
  const Scan* scan = nullptr;
};

/// The rotation that meets the wish best; of equals, where a hand (or toe) holds most.
std::optional<Offer> offerFor(const Wish& wish, const Candidate& candidate, double wall_angle_deg,
                              const GripThresholds& t) {
  const Shape& shape = candidate.scan->shape();
  const GripMap& map = candidate.scan->grip_map();
  std::optional<Offer> best;
  double best_miss = kLargestMiss, best_holds = -1;
  for (int step = 0; step < kSteps; ++step) {
    const double rotation_deg = step * kStep_deg;
    const auto miss = wishMiss(wish, shape, map, rotation_deg, wall_angle_deg, t);
    if (!miss || *miss > best_miss + 1e-9) continue;
    const auto cell = lookUp(map, {rotation_deg, wall_angle_deg, 0});
    const double holds = wish.grip() == "foot-only" ? cell->toe * (1 - cell->reach) : cell->hand;
    if (*miss > best_miss - 1e-9 && holds <= best_holds) continue;
    best_miss = *miss;
    best_holds = holds;
    best.emplace();
    best->set_rotation_deg(rotation_deg);
    best->set_hand_fraction(cell->hand);
    best->set_fit(std::exp(-*miss));
  }
  if (!best) return best;
  best->set_hold(candidate.hold.id());
  best->set_name(candidate.hold.name());
  best->set_bin(candidate.hold.bin());
  best->set_colour(candidate.hold.colour().name());
  best->set_wall_angle_deg(wall_angle_deg);
  best->set_longest_mm(shape.longest_extent_mm().value());
  best->set_protrusion_mm(shape.protrusion_mm().value());
  std::string reason;
  if (const Grip* edge = edgeAt(shape, best->rotation_deg()))
    reason = measuredText(edge->edge_depth_mm(), "mm") + " deep, lip radius " +
             measuredText(edge->lip_radius_mm(), "mm") + ", incut " +
             measuredText(edge->incut_deg(), "°") + "; ";
  best->set_reason(reason + decimalText(best->hand_fraction(), 2) + " of a jug at " +
                   decimalText(wall_angle_deg, 0) + "°");
  return best;
}

/// Of the offers (best first) as many as wished, as different in size as they can be.
void chooseSpread(std::vector<Offer>& offers, std::size_t count) {
  for (std::size_t chosen = 1; chosen < std::min(count, offers.size()); ++chosen) {
    const auto apart = [&](const Offer& offer) {
      double least = 1e9;
      for (std::size_t i = 0; i < chosen; ++i)
        least = std::min(least, std::abs(std::log(std::max(1.0, offer.longest_mm()) /
                                                  std::max(1.0, offers[i].longest_mm()))));
      return least;
    };
    std::size_t best = chosen;
    for (std::size_t i = chosen + 1; i < offers.size(); ++i)
      if (offers[i].fit() > 0.6 && apart(offers[i]) > apart(offers[best])) best = i;
    std::rotate(offers.begin() + static_cast<std::ptrdiff_t>(chosen),
                offers.begin() + static_cast<std::ptrdiff_t>(best),
                offers.begin() + static_cast<std::ptrdiff_t>(best + 1));
  }
}

std::string shortfallText(const WishOffers& offers, int considered) {
  const int missing = offers.wish().count() - offers.chosen_size();
  if (missing <= 0) return "";
  std::string text = std::to_string(missing) + " short: " +
                     (considered == 0 ? "nothing of that colour is on the shelf"
                                      : "no other hold on the shelf meets it");
  if (!offers.others().empty()) text += "; the nearest are below";
  return text + ".";
}

void offerWish(const std::vector<Candidate>& candidates, bool spread, int others,
               std::set<std::string>& used, double wall_angle_deg, const GripThresholds& t,
               WishOffers& result) {
  std::vector<Offer> offers;
  for (const Candidate& candidate : candidates) {
    if (used.count(candidate.hold.id()) != 0) continue;
    if (auto offer = offerFor(result.wish(), candidate, wall_angle_deg, t))
      offers.push_back(std::move(*offer));
  }
  std::stable_sort(offers.begin(), offers.end(), [](const Offer& a, const Offer& b) {
    return std::abs(a.fit() - b.fit()) > 1e-9 ? a.fit() > b.fit()
                                              : a.hand_fraction() > b.hand_fraction();
  });
  const auto count = static_cast<std::size_t>(result.wish().count());
  if (spread) chooseSpread(offers, count);
  for (Offer& offer : offers) {
    if (static_cast<std::size_t>(result.chosen_size()) < count && offer.fit() > 0.6) {
      used.insert(offer.hold());
      *result.add_chosen() = std::move(offer);
    } else if (result.others_size() < others) {
      *result.add_others() = std::move(offer);
    }
  }
  result.set_shortfall(shortfallText(result, static_cast<int>(candidates.size())));
}

std::string offerLine(const Offer& offer) {
  return offer.hold() + " " + offer.name() + " (" + (offer.bin().empty() ? "no bin" : offer.bin()) +
         "), turned " + decimalText(offer.rotation_deg(), 0) + "°: " + offer.reason() + "\n";
}

}  // namespace

bool colourFits(const std::string& colour, const std::string& wanted) {
  return wanted.empty() || colour == wanted || colour.ends_with(" " + wanted);
}

std::optional<double> wishMiss(const Wish& wish, const Shape& shape, const GripMap& map,
                               double rotation_deg, double wall_angle_deg,
                               const GripThresholds& t) {
  // A face that is squeezed is judged by its shape: hanging on it is not what it is for.
  const double judged_deg = wish.compression() ? 0 : wall_angle_deg;
  const auto cell = lookUp(map, {rotation_deg, judged_deg, 0});
  if (!cell || !kindFits(wish, *cell, t)) return std::nullopt;
  const Grip* edge = edgeAt(shape, rotation_deg);
  if (edge == nullptr && needsEdge(wish)) return std::nullopt;
  double miss = edge != nullptr ? edgeMiss(wish, *edge) : 0;
  // A lip that hurts is no hand's wish.
  if (edge != nullptr && wish.grip() != "foot-only" &&
      (edge->lip_sharp() || edge->lip_radius_mm().value() < t.sharp_radius_mm))
    miss += 1;
  if (wish.compression()) miss += squeezeMiss(*edge, wall_angle_deg, t);
  if (wish.no_positive_lip() && anyPositiveLip(shape, wall_angle_deg)) miss += 2;
  miss += outside(shape.protrusion_mm().value(), 0, wish.most_protrusion_mm(), 5);
  miss +=
      outside(shape.longest_extent_mm().value(), wish.least_extent_mm(), wish.most_extent_mm(), 10);
  if (wish.fingers() > 0 && wish.grip() == "pocket" &&
      std::none_of(shape.pockets().begin(), shape.pockets().end(),
                   [&](const Pocket& p) { return p.fingers() == wish.fingers(); }))
    miss += 2;
  return miss;
}

Suggestions suggestHolds(const Library& library, const std::string& id, const std::string& wishes,
                         int others, const GripThresholds& thresholds) {
  const WishList list = parseWishes(wishes);
  const Climb climb = climbOf(library, id);
  const Gym gym = gymOf(library);
  Suggestions suggestions;
  suggestions.set_climb(id);
  suggestions.set_wall_angle_deg(mainPanel(zoneNamed(gym, climb.zone())).wall_angle_deg());
  std::vector<Candidate> candidates;
  int taken = 0;
  library.forEachHold([&](std::int64_t, const Hold& hold) {
    if (currentScan(hold) == nullptr || !colourFits(hold.colour().name(), climb.colour())) return;
    if (hold.status() == CRATE || hold.status() == WALL) ++taken;
    if (hold.status() == SHELF) candidates.push_back({hold, nullptr});
  });
  for (Candidate& candidate : candidates) candidate.scan = currentScan(candidate.hold);
  suggestions.set_considered(static_cast<int>(candidates.size()));
  suggestions.set_taken(taken);
  std::set<std::string> used;
  for (const Wish& wish : list.wishes()) {
    WishOffers& offers = *suggestions.add_wishes();
    *offers.mutable_wish() = wish;
    offerWish(candidates, list.spread(), others, used, suggestions.wall_angle_deg(), thresholds,
              offers);
  }
  suggestions.add_cautions(gripCaution());
  return suggestions;
}

std::string suggestText(const Suggestions& suggestions) {
  std::string text = std::to_string(suggestions.considered()) + " holds on the shelf, " +
                     std::to_string(suggestions.taken()) +
                     " more in crates or on walls; judged at " +
                     decimalText(suggestions.wall_angle_deg(), 0) + "°\n";
  for (const WishOffers& offers : suggestions.wishes()) {
    text += offers.wish().text() + "\n";
    for (const Offer& offer : offers.chosen()) text += "  + " + offerLine(offer);
    if (!offers.shortfall().empty()) text += "  ! " + offers.shortfall() + "\n";
    for (const Offer& offer : offers.others()) text += "    or " + offerLine(offer);
  }
  for (const std::string& caution : suggestions.cautions()) text += caution + "\n";
  return text;
}

}  // namespace holdshelf
