// SPDX-License-Identifier: Apache-2.0
#include "catalog/suggest_text.h"

#include <doctest/doctest.h>

using namespace holdshelf;

namespace {

Offer offer(const std::string& hold, const std::string& bin) {
  Offer made;
  made.set_hold(hold);
  made.set_name("ledge");
  made.set_bin(bin);
  made.set_rotation_deg(30);
  made.set_reason("20 mm deep");
  return made;
}

void addNear(WishOffers& offers, const std::string& hold) {
  NearMiss& near = *offers.add_near_misses();
  near.set_hold(hold);
  near.set_name("chip");
  near.add_limits("is in a crate");
  near.add_limits("incut 0°, not 3° or more");
}

}  // namespace

TEST_CASE("shortfallText: how many are short, and the nearest miss") {
  WishOffers offers;
  offers.mutable_wish()->set_count(2);
  *offers.add_chosen() = offer("H-0001", "A1");
  CHECK(shortfallText(offers, 0) ==
        "1 short: nothing of that colour is on the shelf; there is no other hold at all.");
  addNear(offers, "H-0002");
  CHECK(shortfallText(offers, 5) ==
        "1 short: no other hold on the shelf meets it; nearest H-0002 chip: is in a crate; incut "
        "0°, not 3° or more.");
  *offers.add_chosen() = offer("H-0003", "A1");
  CHECK(shortfallText(offers, 5).empty());
}

TEST_CASE("suggestText: wish by wish what is chosen, short, near and otherwise there") {
  Suggestions suggestions;
  suggestions.set_considered(7);
  suggestions.set_taken(2);
  WishOffers& offers = *suggestions.add_wishes();
  offers.mutable_wish()->set_text("two incut edges");
  *offers.add_chosen() = offer("H-0001", "A1");
  *offers.add_others() = offer("H-0004", "");
  offers.mutable_others(0)->add_misses("lip radius 9 mm, not 5 mm or less");
  offers.set_shortfall("1 short.");
  addNear(offers, "H-0002");  // Said in the shortfall already.
  addNear(offers, "H-0003");
  suggestions.add_cautions("Test climb.");
  CHECK(suggestText(suggestions) ==
        "7 holds on the shelf, 2 more in crates or on walls; judged on every panel of the zone\n"
        "two incut edges\n"
        "  + H-0001 ledge (A1), turned 30°: 20 mm deep\n"
        "  ! 1 short.\n"
        "    then H-0003 chip: is in a crate; incut 0°, not 3° or more\n"
        "    or H-0004 ledge (no bin), turned 30°: 20 mm deep; lip radius 9 mm, not 5 mm or less\n"
        "Test climb.\n");
}
