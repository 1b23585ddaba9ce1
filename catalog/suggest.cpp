// SPDX-License-Identifier: Apache-2.0
#include "catalog/suggest.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <vector>

#include "catalog/climb_change.h"
#include "catalog/climb_record.h"
#include "catalog/climbs.h"
#include "catalog/edge_at.h"
#include "catalog/grip_words.h"
#include "catalog/gym.h"
#include "catalog/hold_record.h"
#include "catalog/measured_text.h"
#include "catalog/suggest_text.h"
#include "catalog/wish_fit.h"
#include "catalog/wish_list.h"

namespace holdshelf {
namespace {

constexpr double kLargestMiss = 4;      ///< Farther holds are no help.
constexpr double kLeastFit = 0.6;       ///< Of a hold that is chosen: half a small difference.
constexpr double kOtherColour = 3;      ///< A near miss of another colour,
constexpr double kNotOnShelf = 3;       ///< or that somebody has,
constexpr double kUsedElsewhere = 2;    ///< or that another wish of the list got: judgements.
constexpr std::size_t kNearMisses = 3;  ///< Named for a wish that is not met.

/// What all wishes of one list share.
struct Search {
  const Library& library;
  Climb climb;
  std::vector<const WallPanel*> panels;
  GripThresholds thresholds;
  std::map<std::string, std::string> used;  ///< The wish that got a hold, by hold.
};

std::string reasonOf(const Shape& shape, const std::vector<WishFit>& fits) {
  const WishFit& best = fits.front();
  std::string reason;
  if (const Grip* edge = edgeAt(shape, best.rotation_deg))
    reason = measuredText(edge->edge_depth_mm(), "mm") + " deep, lip radius " +
             measuredText(edge->lip_radius_mm(), "mm") + ", incut " +
             measuredText(edge->incut_deg(), "°") + "; ";
  reason += decimalText(best.cell.hand, 2) + " of a jug at " +
            decimalText(best.panel->wall_angle_deg(), 0) + "° on " + best.panel->name();
  std::string also;
  for (std::size_t i = 1; i < fits.size(); ++i)
    if (fits[i].miss < best.miss + 0.05) also += (also.empty() ? "" : ", ") + fits[i].panel->name();
  return reason + (also.empty() ? "" : " (as well on " + also + ")");
}

std::optional<Offer> offerFor(const Search& search, const Wish& wish, const Hold& hold) {
  const Scan& scan = *currentScan(hold);
  const auto fits = wishFits(search.panels, wish, scan, [&](double rotation_deg, double wall_deg) {
    return wishMiss(wish, scan.shape(), scan.grip_map(), rotation_deg, wall_deg, search.thresholds);
  });
  const WishFit& best = fits.front();
  if (best.miss > kLargestMiss) return std::nullopt;
  Offer offer;
  offer.set_hold(hold.id());
  offer.set_name(hold.name());
  offer.set_bin(hold.bin());
  offer.set_colour(hold.colour().name());
  offer.set_rotation_deg(best.rotation_deg);
  offer.set_panel(best.panel->name());
  offer.set_wall_angle_deg(best.panel->wall_angle_deg());
  offer.set_hand_fraction(best.cell.hand);
  offer.set_fit(std::exp(-best.miss));
  offer.set_longest_mm(scan.shape().longest_extent_mm().value());
  offer.set_protrusion_mm(scan.shape().protrusion_mm().value());
  offer.set_reason(reasonOf(scan.shape(), fits));
  const WishMiss miss = missOf(wish, scan.shape(), scan.grip_map(), best.rotation_deg,
                               best.panel->wall_angle_deg(), search.thresholds);
  for (const std::string& limit : miss.limits) offer.add_misses(limit);
  return offer;
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
      if (offers[i].fit() > kLeastFit && apart(offers[i]) > apart(offers[best])) best = i;
    std::rotate(offers.begin() + static_cast<std::ptrdiff_t>(chosen),
                offers.begin() + static_cast<std::ptrdiff_t>(best),
                offers.begin() + static_cast<std::ptrdiff_t>(best + 1));
  }
}

/// Why a hold is out of the question whatever its shape, with what that counts for.
double addOtherLimits(const Search& search, const Hold& hold, NearMiss& near) {
  double distance = 0;
  const auto add = [&](double by, const std::string& text) {
    distance += by;
    near.add_limits(text);
  };
  if (hold.status() != SHELF)
    add(kNotOnShelf, isHere(hold, search.climb.id()) ? "is in this climb already"
                                                     : "is " + whereabouts(search.library, hold));
  if (!colourFits(hold.colour().name(), search.climb.colour()))
    add(kOtherColour,
        "is " + (hold.colour().name().empty() ? "of no known colour" : hold.colour().name()) +
            ", not " + search.climb.colour());
  if (const auto other = search.used.find(hold.id()); other != search.used.end())
    add(kUsedElsewhere, "is chosen for \"" + other->second + "\"");
  return distance;
}

struct Near {
  double distance = 0;
  NearMiss miss;
};

Near nearOf(const Search& search, const Wish& wish, const Hold& hold, double worst) {
  Near near;
  near.distance = addOtherLimits(search, hold, near.miss);
  if (near.distance >= worst) return near;
  const Scan& scan = *currentScan(hold);
  const auto fits = wishFits(search.panels, wish, scan, [&](double rotation_deg, double wall_deg) {
    return std::optional(missDistance(wish, scan.shape(), scan.grip_map(), rotation_deg, wall_deg,
                                      search.thresholds));
  });
  const WishFit& best = fits.front();
  near.miss.set_hold(hold.id());
  near.miss.set_name(hold.name());
  near.miss.set_bin(hold.bin());
  near.miss.set_panel(best.panel->name());
  near.miss.set_rotation_deg(best.rotation_deg);
  const WishMiss miss = missOf(wish, scan.shape(), scan.grip_map(), best.rotation_deg,
                               best.panel->wall_angle_deg(), search.thresholds);
  near.distance += miss.distance;
  for (const std::string& limit : miss.limits) near.miss.add_limits(limit);
  return near;
}

/// The holds of the whole library that miss a wish least, each with every limit it misses.
void addNearMisses(const Search& search, WishOffers& result) {
  std::vector<Near> nearest;
  search.library.forEachHold([&](std::int64_t, const Hold& hold) {
    const auto chosen = [&](const Offer& offer) { return offer.hold() == hold.id(); };
    if (currentScan(hold) == nullptr || hold.status() == RETIRED ||
        std::any_of(result.chosen().begin(), result.chosen().end(), chosen))
      return;
    const double worst = nearest.size() < kNearMisses ? 1e9 : nearest.back().distance;
    Near near = nearOf(search, result.wish(), hold, worst);
    if (near.distance >= worst) return;
    nearest.push_back(std::move(near));
    std::stable_sort(nearest.begin(), nearest.end(),
                     [](const Near& a, const Near& b) { return a.distance < b.distance; });
    if (nearest.size() > kNearMisses) nearest.pop_back();
  });
  for (Near& near : nearest) *result.add_near_misses() = std::move(near.miss);
}

void offerWish(Search& search, const std::vector<Hold>& candidates, bool spread, int others,
               WishOffers& result) {
  std::vector<Offer> offers;
  for (const Hold& hold : candidates)
    if (search.used.count(hold.id()) == 0)
      if (auto offer = offerFor(search, result.wish(), hold)) offers.push_back(std::move(*offer));
  std::stable_sort(offers.begin(), offers.end(), [](const Offer& a, const Offer& b) {
    return std::abs(a.fit() - b.fit()) > 1e-9 ? a.fit() > b.fit()
                                              : a.hand_fraction() > b.hand_fraction();
  });
  const auto count = static_cast<std::size_t>(result.wish().count());
  if (spread) chooseSpread(offers, count);
  for (Offer& offer : offers) {
    if (static_cast<std::size_t>(result.chosen_size()) < count && offer.fit() > kLeastFit) {
      *result.add_chosen() = std::move(offer);
    } else if (result.others_size() < others) {
      *result.add_others() = std::move(offer);
    }
  }
  if (static_cast<std::size_t>(result.chosen_size()) < count) addNearMisses(search, result);
  for (const Offer& chosen : result.chosen())
    search.used.emplace(chosen.hold(), result.wish().text());
  result.set_shortfall(shortfallText(result, static_cast<int>(candidates.size())));
}

}  // namespace

bool colourFits(const std::string& colour, const std::string& wanted) {
  return wanted.empty() || colour == wanted || colour.ends_with(" " + wanted);
}

Suggestions suggestHolds(const Library& library, const std::string& id, const std::string& wishes,
                         int others, const GripThresholds& thresholds) {
  const WishList list = parseWishes(wishes);
  const Gym gym = gymOf(library);
  Search search{library, climbOf(library, id), {}, thresholds, {}};
  search.panels = panelsToTry(zoneNamed(gym, search.climb.zone()));
  Suggestions suggestions;
  suggestions.set_climb(id);
  suggestions.set_wall_angle_deg(search.panels.front()->wall_angle_deg());
  std::vector<Hold> candidates;
  int taken = 0;
  library.forEachHold([&](std::int64_t, const Hold& hold) {
    if (currentScan(hold) == nullptr || !colourFits(hold.colour().name(), search.climb.colour()))
      return;
    if (hold.status() == CRATE || hold.status() == WALL) ++taken;
    if (hold.status() == SHELF) candidates.push_back(hold);
  });
  suggestions.set_considered(static_cast<int>(candidates.size()));
  suggestions.set_taken(taken);
  for (const Wish& wish : list.wishes()) {
    WishOffers& offers = *suggestions.add_wishes();
    *offers.mutable_wish() = wish;
    offerWish(search, candidates, list.spread(), others, offers);
  }
  suggestions.add_cautions(gripCaution());
  return suggestions;
}

}  // namespace holdshelf
