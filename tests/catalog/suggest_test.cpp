// SPDX-License-Identifier: Apache-2.0
#include "catalog/suggest.h"

#include <doctest/doctest.h>

#include <cmath>
#include <set>

#include "catalog/hold_record.h"
#include "catalog/suggest_text.h"
#include "tests/catalog/evening.h"

using namespace holdshelf;
using namespace holdshelf::test;

TEST_CASE("suggest: what fits, once each, and only from the shelf") {
  Evening e;
  e.shelve("H-0001", "quay_crimp");  // Edges of 84 mm, 15 deep, and of 64 mm, 12 deep.
  e.shelve("H-0002", "pier_crimp");
  e.shelve("H-0003", "slipway_jug");
  e.shelve("H-0004", "slipway_jug", "red");
  e.shelve("H-0005", "quay_crimp");
  const std::string wishes = "two incut crimps, one jug, a spread of sizes";
  Suggestions s = suggestHolds(e.library, "C-0001", wishes);
  CAPTURE(suggestText(s));
  CHECK(s.considered() == 4);  // The red one is of another colour.
  REQUIRE(s.wishes_size() == 2);
  std::multiset<std::string> chosen;
  for (const WishOffers& offers : s.wishes())
    for (const Offer& offer : offers.chosen()) chosen.insert(offer.hold());
  CHECK(chosen.size() == 3);
  for (const std::string& hold : chosen) CHECK(chosen.count(hold) == 1);
  // Spread: the small crimp and one of the two that are alike.
  REQUIRE(s.wishes(0).chosen_size() == 2);
  CHECK(chosen.count("H-0002") == 1);
  CHECK(chosen.count("H-0001") + chosen.count("H-0005") == 1);
  CHECK(s.wishes(0).shortfall().empty());
  REQUIRE(s.wishes(1).chosen_size() == 1);
  CHECK(s.wishes(1).chosen(0).hold() == "H-0003");
  addHolds(e.library, "C-0001", {"H-0003"});
  s = suggestHolds(e.library, "C-0001", wishes);
  CHECK(s.taken() == 1);
  CHECK(s.wishes(0).chosen_size() == 2);
  CHECK(s.wishes(1).chosen().empty());
  CHECK_FALSE(s.wishes(1).shortfall().empty());
}

namespace {

ExactHold deepEdge(double incut_deg) {
  EdgeSpec spec;
  spec.depth_mm = 40;
  spec.protrusion_mm = 50;
  spec.lip_radius_mm = 10;
  spec.width_mm = 160;
  spec.incut_deg = incut_deg;
  return edgeHold(spec);
}

const NearMiss* nearMiss(const WishOffers& offers, const std::string& hold) {
  for (const NearMiss& near : offers.near_misses())
    if (near.hold() == hold) return &near;
  return nullptr;
}

std::string allLimits(const NearMiss& near) {
  std::string text;
  for (const std::string& limit : near.limits()) text += limit + "; ";
  return text;
}

}  // namespace

TEST_CASE("suggest: every panel of the zone is tried, and the one that fits best is said") {
  Evening e;  // The zone's main panel is at 20 degrees, its top at 5.
  e.shelveSolid("H-0001", deepEdge(0));
  // A face square to the wall runs downhill by the wall angle: 20 degrees are a slope to the hand,
  // 5 are an edge.
  Suggestions s = suggestHolds(e.library, "C-0001", "one edge");
  REQUIRE(s.wishes(0).chosen_size() == 1);
  CHECK(s.wishes(0).chosen(0).panel() == "top");
  CHECK(s.wishes(0).chosen(0).wall_angle_deg() == 5);
  CHECK(s.wishes(0).chosen(0).reason().find("at 5° on top") != std::string::npos);
  s = suggestHolds(e.library, "C-0001", "one sloper");
  REQUIRE(s.wishes(0).chosen_size() == 1);
  CHECK(s.wishes(0).chosen(0).panel() == "lower");
}

TEST_CASE("suggest: an unmet wish names the near misses and every limit that excludes them") {
  Evening e;
  e.shelveSolid("H-0001", deepEdge(8));     // Not incut enough for a deep wish below.
  e.shelve("H-0002", "quay_crimp", "red");  // Of another colour.
  e.shelve("H-0003", "pier_crimp");         // In another crate.
  Climb other;
  other.set_name("blue 3");
  other.set_zone("wave");
  other.set_setter("Odile");
  startClimb(e.library, other);
  addHolds(e.library, "C-0002", {"H-0003"});
  const Suggestions s =
      suggestHolds(e.library, "C-0001", "two incut crimps, one edge 60-70 mm deep");
  CAPTURE(suggestText(s));
  const WishOffers& crimps = s.wishes(0);
  CHECK(crimps.chosen().empty());
  REQUIRE(crimps.near_misses_size() == 3);
  REQUIRE(nearMiss(crimps, "H-0002") != nullptr);
  CHECK(allLimits(*nearMiss(crimps, "H-0002")).find("red, not green") != std::string::npos);
  REQUIRE(nearMiss(crimps, "H-0003") != nullptr);
  CHECK(allLimits(*nearMiss(crimps, "H-0003")).find("C-0002 (blue 3, Odile)") != std::string::npos);
  REQUIRE(nearMiss(crimps, "H-0001") != nullptr);
  CHECK(allLimits(*nearMiss(crimps, "H-0001")).find("not \"crimp\"") != std::string::npos);
  CHECK(crimps.shortfall().find("2 short") == 0);
  CHECK(crimps.shortfall().find(crimps.near_misses(0).hold()) != std::string::npos);
  // 40 mm deep by construction; 60 were asked for.
  REQUIRE(nearMiss(s.wishes(1), "H-0001") != nullptr);
  CHECK(allLimits(*nearMiss(s.wishes(1), "H-0001")).find("edge depth") != std::string::npos);
  CHECK(allLimits(*nearMiss(s.wishes(1), "H-0001")).find("not 60 mm or more") != std::string::npos);
  // A limit is only named where it is missed: all is right with this one but that it is taken.
  CHECK(nearMiss(crimps, "H-0003")->limits_size() == 1);
}

TEST_CASE("suggest: two slopers without a positive lip for compression") {
  Evening e;
  e.shelveSolid("H-0001", domeHold(60, 55));  // Nothing to pull on, its sides nearly square.
  e.shelveSolid("H-0002", domeHold(60, 55));
  e.shelveSolid("H-0003", domeHold(80, 40));  // So flat that hands are pushed off.
  e.shelveSolid("H-0004", deepEdge(25));      // A jug's lip.
  const Suggestions s =
      suggestHolds(e.library, "C-0001", "three slopers without a positive lip for compression");
  CAPTURE(suggestText(s));
  const WishOffers& offers = s.wishes(0);
  REQUIRE(offers.chosen_size() == 2);
  for (const Offer& offer : offers.chosen())
    CHECK((offer.hold() == "H-0001" || offer.hold() == "H-0002"));
  // Its sides slope by asin(5 / 60) = 4.8 degrees at the wall and more above; skin just holds them,
  // which is said.
  REQUIRE_FALSE(offers.chosen(0).misses().empty());
  CHECK(offers.chosen(0).misses(0).find("friction") != std::string::npos);
  REQUIRE(nearMiss(offers, "H-0003") != nullptr);
  REQUIRE(nearMiss(offers, "H-0004") != nullptr);
  CHECK(allLimits(*nearMiss(offers, "H-0004")).find("positive lip") != std::string::npos);
  CHECK(offers.shortfall().find("1 short") == 0);
}
