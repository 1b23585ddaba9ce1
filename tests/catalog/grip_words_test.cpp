// SPDX-License-Identifier: Apache-2.0
#include "catalog/grip_words.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "catalog/foot_steps.h"
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

/// A mound that a whole hand palms, 60 mm deep and sloping by 25, with an opening of these numbers.
static Shape moundWithPocket(double width_mm) {
  Shape shape = facetedShape({{.depth_mm = 60,
                               .width_mm = 160,
                               .lip_radius_mm = 12,
                               .incut_deg = -25,
                               .distance_mm = 60}});
  Pocket& pocket = *shape.add_pockets();
  pocket.set_direction_deg(-90);
  pocket.mutable_width_mm()->set_value(width_mm);
  pocket.mutable_height_mm()->set_value(24);
  pocket.mutable_depth_mm()->set_value(30);
  pocket.mutable_depth_mm()->set_sigma(0.3);
  return shape;
}

TEST_CASE(
    "gripWords: a pocket in a mound is named beside what the mound gives, each with its rotations "
    "and numbers; common practice, no source") {
  for (const auto& [width_mm, fingers] : {std::pair{22.0, "one finger"}, {36.0, "two fingers"}}) {
    const Shape shape = moundWithPocket(width_mm);
    const auto words = gripWords(shape);
    const GripWord *sloper = find(words, "sloper"), *pocket = find(words, "pocket");
    REQUIRE(sloper);
    REQUIRE(pocket);
    CHECK(sloper->fraction_of_jug() > pocket->fraction_of_jug());
    CHECK(pocket->reason().find(fingers) != std::string::npos);
    // Both about the straight pull; the words' ranges overlap.
    CHECK(wrap360(sloper->best_deg() + 5) <= 10);
    CHECK(wrap360(pocket->best_deg() + 5) <= 10);
    const auto at = wordsAt(GripModel(shape), {0, 0, 0});
    CHECK(at == std::vector<GripKind>{GripKind::Sloper, GripKind::Pocket});
  }
}

TEST_CASE("gripWords: the edge measured in a pocket is its floor: one word, and its slope counts") {
  Shape shape =
      facetedShape({{.depth_mm = 30, .width_mm = 36, .incut_deg = -18, .distance_mm = 10}});
  Pocket& pocket = *shape.add_pockets();
  pocket.set_direction_deg(-90);
  pocket.mutable_centre_mm()->set_y(24);
  pocket.mutable_width_mm()->set_value(36);
  pocket.mutable_height_mm()->set_value(24);
  pocket.mutable_depth_mm()->set_value(30);
  const GripModel model(shape);
  CHECK(wordsAt(model, {0, 0, 0}) == std::vector<GripKind>{GripKind::Pocket});
  CHECK(model.explain(model.hand({0, 0, 0})).find("18° sloping pocket 36 mm wide") == 0);
  // What friction leaves at 18 degrees: 1 - tan^2 18 / 0.8^2 = 0.835; at 18 + 20 nearly nothing.
  CHECK(model.hand({0, 0, 0}).slope == doctest::Approx(0.835).epsilon(0.02));
  CHECK(model.hand({0, 20, 0}).fraction_of_jug < 0.1 * model.hand({0, 0, 0}).fraction_of_jug);
  // The same edge beside the pocket is an edge of its own.
  shape.mutable_pockets(0)->mutable_centre_mm()->set_y(90);
  CHECK(wordsAt(GripModel(shape), {0, 0, 0}).size() == 2);
}

TEST_CASE("gripWords: a second word needs other_word_share of the strongest, a pocket does not") {
  const Shape shape = facetedShape({{.depth_mm = 40, .width_mm = 120, .distance_mm = 60},
                                    {.depth_mm = 9, .width_mm = 60, .distance_mm = 20}});
  GripThresholds shy, generous;
  shy.other_word_share = 0.95;
  generous.other_word_share = 0.3;
  CHECK(find(gripWords(shape, generous), "crimp"));
  CHECK_FALSE(find(gripWords(shape, shy), "crimp"));
  CHECK(find(gripWords(moundWithPocket(22), shy), "pocket"));
}

TEST_CASE(
    "wordsAt: hands stay named beside foot-only where their force lies within its "
    "uncertainty of too_grabbable") {
  // A bucket of 25 degrees on a roof of 60 slopes by 35: 0.23 of its friction is left at 0.8,
  // nothing at 0.7 (1 - tan^2 35 / mu^2). The limits of Fuss et al. 2013 are 22 and 34 degrees.
  const Shape bucket =
      facetedShape({{.depth_mm = 45, .width_mm = 110, .lip_radius_mm = 3, .incut_deg = 25}});
  const auto steep = wordsAt(GripModel(bucket), {0, 60, 0});
  CHECK(steep == std::vector<GripKind>{GripKind::FootOnly, GripKind::Sloper});
  CHECK(find(gripWords(bucket, {}, 60), "foot-only")->borderline());
  // Sloping by 25, between the limits, it is a sloper that anyone grabs.
  CHECK(wordsAt(GripModel(bucket), {0, 50, 0}) == std::vector<GripKind>{GripKind::Sloper});
  // On a chip hands are clearly off.
  const Shape chip = facetedShape({{.depth_mm = 6, .width_mm = 20, .lip_radius_mm = 2}});
  CHECK(wordsAt(GripModel(chip), {0, 0, 0}) == std::vector<GripKind>{GripKind::FootOnly});
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
