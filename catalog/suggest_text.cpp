// SPDX-License-Identifier: Apache-2.0
#include "catalog/suggest_text.h"

#include "catalog/measured_text.h"

namespace holdshelf {
namespace {

std::string nearText(const NearMiss& near) {
  std::string text = near.hold() + " " + near.name() + ": ";
  for (int i = 0; i < near.limits_size(); ++i) text += (i > 0 ? "; " : "") + near.limits(i);
  return text;
}

std::string offerLine(const Offer& offer) {
  std::string misses;
  for (const std::string& miss : offer.misses()) misses += "; " + miss;
  return offer.hold() + " " + offer.name() + " (" + (offer.bin().empty() ? "no bin" : offer.bin()) +
         "), turned " + decimalText(offer.rotation_deg(), 0) + "°: " + offer.reason() + misses +
         "\n";
}

}  // namespace

std::string shortfallText(const WishOffers& offers, int considered) {
  const int missing = offers.wish().count() - offers.chosen_size();
  if (missing <= 0) return "";
  return std::to_string(missing) + " short: " +
         (considered == 0 ? "nothing of that colour is on the shelf"
                          : "no other hold on the shelf meets it") +
         (offers.near_misses().empty() ? "; there is no other hold at all"
                                       : "; nearest " + nearText(offers.near_misses(0))) +
         ".";
}

std::string suggestText(const Suggestions& suggestions) {
  std::string text = std::to_string(suggestions.considered()) + " holds on the shelf, " +
                     std::to_string(suggestions.taken()) +
                     " more in crates or on walls; judged on every panel of the zone\n";
  for (const WishOffers& offers : suggestions.wishes()) {
    text += offers.wish().text() + "\n";
    for (const Offer& offer : offers.chosen()) text += "  + " + offerLine(offer);
    if (!offers.shortfall().empty()) text += "  ! " + offers.shortfall() + "\n";
    for (int i = 1; i < offers.near_misses_size(); ++i)
      text += "    then " + nearText(offers.near_misses(i)) + "\n";
    for (const Offer& offer : offers.others()) text += "    or " + offerLine(offer);
  }
  for (const std::string& caution : suggestions.cautions()) text += caution + "\n";
  return text;
}

}  // namespace holdshelf
