// SPDX-License-Identifier: Apache-2.0
#include "catalog/feet.h"

#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "tests/shapes/faceted_shape.h"

using namespace holdshelf;

TEST_CASE("rankFeet: chips first, jugs and crimps last, each explained on both sides") {
  const Shape chip = facetedShape({{.depth_mm = 7, .width_mm = 26, .lip_radius_mm = 1.5}});
  const Shape nub = facetedShape({{.depth_mm = 5, .width_mm = 18, .lip_radius_mm = 3}});
  const Shape crimp = facetedShape({{.depth_mm = 14, .width_mm = 80}});
  const Shape jug =
      facetedShape({{.depth_mm = 45, .width_mm = 110, .lip_radius_mm = 8, .incut_deg = 25}});
  const Shape none;
  const std::vector<FootCandidate> candidates{{"H-1", "jug", "A", &jug},
                                              {"H-2", "crimp", "A", &crimp},
                                              {"H-3", "nub", "B", &nub},
                                              {"H-4", "chip", "B", &chip},
                                              {"H-5", "none", "B", &none}};
  const FootRanking ranking = rankFeet(candidates, 0);
  REQUIRE(ranking.choices_size() == 5);
  CHECK(ranking.choices(0).hold_id() == "H-4");
  CHECK(ranking.choices(0).chosen());
  CHECK(ranking.choices(0).rotation_deg() == 0);
  CHECK(ranking.choices(0).sentence().find("of a deep edge") != std::string::npos);
  CHECK(ranking.choices(0).sentence().find("of a jug") != std::string::npos);
  bool failed = false;  // Once one fails, none that follows is chosen.
  for (const FootChoice& choice : ranking.choices()) {
    if (choice.hold_id() == "H-1" || choice.hold_id() == "H-2" || choice.hold_id() == "H-5")
      CHECK_FALSE(choice.chosen());
    if (failed) CHECK_FALSE(choice.chosen());
    failed = failed || !choice.chosen();
  }
  CHECK(ranking.cautions_size() == 1);
}

TEST_CASE("rankFeet: offers the rotation at which the hold is only a foot") {
  // A crimp above, a small chip below: serves upside down.
  const Shape both = facetedShape({{.facing_deg = 90, .depth_mm = 14, .width_mm = 80},
                                   {.facing_deg = -90, .depth_mm = 7, .width_mm = 26}});
  const std::vector<FootCandidate> candidates{{"H-1", "", "", &both}};
  const FootRanking ranking = rankFeet(candidates, 0);
  CHECK(ranking.choices(0).chosen());
  CHECK(ranking.choices(0).rotation_deg() == 180);
  // The wall's angle counts: on a steep overhang a flat chip holds no toe.
  CHECK_FALSE(rankFeet(candidates, 50).choices(0).chosen());
}

TEST_CASE("rankFeet: a sure foothold goes before a borderline one that scores more") {
  // Sloping by 27 the large one leaves a hand 0.5 of the limit's friction, within its uncertainty.
  const Shape ramp = facetedShape(
      {{.depth_mm = 40, .width_mm = 40, .lip_radius_mm = 2, .incut_deg = -31.5, .sigma_deg = 3}});
  const Shape chip = facetedShape({{.depth_mm = 5.5, .width_mm = 24, .lip_radius_mm = 2}});
  const std::vector<FootCandidate> candidates{{"R", "", "", &ramp}, {"C", "", "", &chip}};
  const FootRanking ranking = rankFeet(candidates, 0);
  REQUIRE(ranking.choices_size() == 2);
  CHECK(ranking.choices(0).hold_id() == "C");
  CHECK(ranking.choices(0).too_grabbable() == GripVerdict::NO);
  CHECK(ranking.choices(1).chosen());
  CHECK(ranking.choices(1).too_grabbable() == GripVerdict::BORDERLINE);
  CHECK(ranking.choices(1).score() > ranking.choices(0).score());
}
