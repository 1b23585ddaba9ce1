// SPDX-License-Identifier: Apache-2.0
#include "catalog/grip_words.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "tests/shapes/faceted_shape.h"

using namespace holdshelf;

static std::vector<std::string> names(const std::vector<GripWord>& words) {
  std::vector<std::string> out;
  for (const GripWord& word : words) out.push_back(word.word());
  return out;
}

static const GripWord* find(const std::vector<GripWord>& words, const std::string& name) {
  const auto found =
      std::find_if(words.begin(), words.end(), [&](const GripWord& w) { return w.word() == name; });
  return found == words.end() ? nullptr : &*found;
}

TEST_CASE("gripWords: common practice, no source: the plain cases") {
  // A deep incut bucket, a flat finger-deep ledge, a thin flat edge, a big rounding.
  CHECK(names(gripWords(facetedShape(
                  {{.depth_mm = 45, .width_mm = 110, .lip_radius_mm = 8, .incut_deg = 25}})))
            .front() == "jug");
  CHECK(names(gripWords(facetedShape({{.depth_mm = 28, .width_mm = 100}}))).front() == "edge");
  CHECK(names(gripWords(facetedShape({{.depth_mm = 10, .width_mm = 80, .lip_radius_mm = 1}})))
            .front() == "crimp");
  CHECK(names(gripWords(facetedShape({{.depth_mm = 70, .width_mm = 120, .lip_radius_mm = 70}})))
            .front() == "sloper");
}

TEST_CASE(
    "gripWords: ranges follow the face that is turned up, and pass 360 instead of being cut") {
  const auto words = gripWords(facetedShape({{.depth_mm = 14, .width_mm = 80}}));
  const GripWord* crimp = find(words, "crimp");
  REQUIRE(crimp);
  // Symmetric about 0, and not beyond what friction holds on an edge that runs askew: atan 0.8.
  CHECK(crimp->from_deg() + crimp->to_deg() == doctest::Approx(720));
  CHECK(crimp->to_deg() - crimp->from_deg() <= 2 * 38.7);
  CHECK(crimp->to_deg() - crimp->from_deg() >= 40);
  CHECK(crimp->best_deg() == 0);
  CHECK(crimp->reason().find("14.0 ± 0.2 mm deep over 80 mm") != std::string::npos);

  // Facing right in the hold frame, it is up when the hold is turned by 90 counter-clockwise.
  const auto turned = gripWords(facetedShape({{.facing_deg = 0, .depth_mm = 14}}));
  REQUIRE(find(turned, "crimp"));
  CHECK(find(turned, "crimp")->best_deg() == 90);
}

TEST_CASE("gripWords: several words at several rotations") {
  const auto words = gripWords(facetedShape(
      {{.facing_deg = 90, .depth_mm = 45, .width_mm = 110, .lip_radius_mm = 8, .incut_deg = 25},
       {.facing_deg = -90, .depth_mm = 10, .width_mm = 80, .lip_radius_mm = 1}}));
  REQUIRE(find(words, "jug"));
  REQUIRE(find(words, "crimp"));
  CHECK(find(words, "jug")->best_deg() == 0);
  CHECK(find(words, "crimp")->best_deg() == 180);
}

TEST_CASE("gripWords: what only a toe can use is foot-only; what is too large is a volume") {
  const auto chip = gripWords(facetedShape({{.depth_mm = 6, .width_mm = 24, .lip_radius_mm = 2}}));
  REQUIRE(find(chip, "foot-only"));
  CHECK(find(chip, "foot-only")->reason().find("of a deep edge; hands: ") != std::string::npos);

  Shape wide = facetedShape({{.depth_mm = 150, .width_mm = 600, .lip_radius_mm = 10}});
  CHECK(names(gripWords(wide)).front() == "volume or feature");
  CHECK(gripWords(Shape()).empty());
}

TEST_CASE("gripWords: the same hold's word changes with the wall") {
  const Shape ledge = facetedShape({{.depth_mm = 40, .width_mm = 110, .lip_radius_mm = 4}});
  CHECK(names(gripWords(ledge, {}, -15)).front() == "jug");  // Gains 15 degrees of incut.
  CHECK(names(gripWords(ledge, {}, 0)).front() == "edge");
  CHECK(names(gripWords(ledge, {}, 25)).front() == "sloper");
  CHECK(gripWords(ledge, {}, 60).empty());  // Steeper than any skin holds.
}

TEST_CASE("gripWords: near a threshold the word is borderline") {
  const auto crisp = gripWords(facetedShape({{.depth_mm = 12, .width_mm = 80}}));
  const auto close = gripWords(facetedShape({{.depth_mm = 18.6, .width_mm = 80, .sigma_mm = 0.5}}));
  CHECK_FALSE(crisp.front().borderline());
  CHECK(close.front().borderline());
}
