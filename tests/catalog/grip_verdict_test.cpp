// SPDX-License-Identifier: Apache-2.0
#include "catalog/grip_verdict.h"

#include <doctest/doctest.h>

#include <cmath>
#include <string>

#include "catalog/grip_thresholds.h"
#include "tests/shapes/faceted_shape.h"

using namespace holdshelf;

static bool contains(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

/// An edge above and a rounded nub for a toe below, which only thumb and finger can pinch.
static Shape footPiece() {
  Shape shape = facetedShape(
      {{.facing_deg = 90, .depth_mm = 14.2, .width_mm = 62, .sigma_mm = 0.3},
       {.facing_deg = -90, .depth_mm = 6, .width_mm = 22, .lip_radius_mm = 3, .incut_deg = -25}});
  Pinch& pinch = *shape.add_pinches();
  pinch.set_direction_deg(0);
  pinch.mutable_width_mm()->set_value(45);
  pinch.mutable_height_mm()->set_value(20);
  pinch.mutable_length_mm()->set_value(15);
  return shape;
}

TEST_CASE("verdictAt: a flat crimpable edge as a foot gets crimped; common practice, no source") {
  const Shape shape = footPiece();
  const GripVerdict v = verdictAt(GripModel(shape), {0, 0, 0});
  CHECK(v.too_grabbable() == GripVerdict::YES);
  CHECK(contains(v.sentence(),
                 "Too grabbable: flat edge 14.2 ± 0.3 mm deep over 62 mm: four fingers, 0."));
  CHECK(contains(v.sentence(), "of a jug; turned to "));
  // Beside the hand's own reason it is not told again.
  CHECK(contains(v.sentence(), v.hand().reason()));
  CHECK(v.foot_sentence().starts_with("Too grabbable; turned to "));
  CHECK_FALSE(contains(v.foot_sentence(), v.hand().reason()));
  REQUIRE(v.foot_ranges_size() >= 1);
  const FootRange& cure = v.foot_ranges(0);
  CHECK(cure.from_deg() <= 180);
  CHECK(cure.to_deg() >= 180);
  CHECK(cure.hand_fraction() <= 0.30);
  CHECK(cure.toe_fraction() >= 0.35);
  REQUIRE(v.cautions_size() == 1);
  CHECK(contains(v.cautions(0), "Test climb"));
}

TEST_CASE("verdictAt: an uncertainty that rounds to zero is not printed as zero") {
  Shape shape = facetedShape({{.depth_mm = 14.2, .width_mm = 62, .sigma_mm = 0.01}});
  const GripVerdict exact = verdictAt(GripModel(shape), {0, 0, 0});
  CHECK(contains(exact.sentence(), "14.2 ± <0.1 mm deep"));
  CHECK_FALSE(contains(exact.sentence(), "± 0.0 "));
  const GripVerdict nothing = verdictAt(GripModel(shape), {180, 0, 0});
  CHECK_FALSE(contains(nothing.sentence(), "± 0.00"));
}

TEST_CASE("verdictAt: inside the cure it is a foothold, explained on both sides") {
  const Shape shape = footPiece();
  const GripVerdict v = verdictAt(GripModel(shape), {180, 0, 0});
  CHECK(v.too_grabbable() != GripVerdict::YES);
  CHECK(v.serves_toe() != GripVerdict::NO);
  CHECK(contains(v.sentence(), "of a deep edge"));
  CHECK(contains(v.sentence(), "of a jug"));
  CHECK(contains(v.sentence(), v.toe().reason()));
  CHECK_FALSE(contains(v.foot_sentence(), v.toe().reason()));
}

TEST_CASE("verdictAt: what thumb and one finger can pinch is rarely grabbed; common practice") {
  const Shape shape = footPiece();
  const GripVerdict v = verdictAt(GripModel(shape), {180, 0, 0});
  // Some 0.12 of a jug: told in the reason, but under what earns a hand word.
  const double least = GripThresholds{}.min_hand_fraction;
  CHECK(v.hand().word() == (v.hand().fraction_of_jug() < least ? "nothing" : "pinch"));
  CHECK(v.hand().fingers() == 1);
  CHECK(contains(v.hand().reason(), "thumb and one finger"));
  CHECK(v.hand().fraction_of_jug() < 0.30);
}

TEST_CASE("verdictAt: the pull decides: a side pull finds the edge that faces the side") {
  const Shape shape = facetedShape({{.facing_deg = 90, .depth_mm = 20}});
  const GripModel model(shape);
  // Turned a quarter counter-clockwise, the edge faces left and is pulled to the right.
  CHECK(verdictAt(model, {90, 0, 0}).hand().fraction_of_jug() == 0);
  CHECK(verdictAt(model, {90, 0, 90}).hand().fraction_of_jug() ==
        doctest::Approx(verdictAt(model, {0, 0, 0}).hand().fraction_of_jug()));
  CHECK(verdictAt(model, {180, 0, 180}).hand().fraction_of_jug() > 0.5);
  CHECK(contains(verdictAt(model, {90, 0, 0}).sentence(), "pulled 90° to the right"));
  // Straight down there is nothing: what a side pull finds is no repetition.
  CHECK(contains(verdictAt(model, {90, 0, 0}).foot_sentence(), "pulled 90° to the right"));
}

TEST_CASE("verdictAt: lip, platform and factors of the grip that the pull finds") {
  const Shape shape = facetedShape({{.depth_mm = 40, .width_mm = 100, .incut_deg = 12}});
  const GripModel model(shape);
  CHECK(verdictAt(model, {0, 0, 0}).lip_positive() == GripVerdict::YES);
  CHECK(verdictAt(model, {0, 12.4, 0}).lip_positive() == GripVerdict::BORDERLINE);
  CHECK(verdictAt(model, {0, 30, 0}).lip_positive() == GripVerdict::NO);
  const HandGrip hand = verdictAt(model, {0, 0, 0}).hand();
  CHECK(hand.fraction_of_jug() ==
        doctest::Approx(hand.finger_factor() *
                        (hand.contact_factor() +
                         (hand.bar_factor() - hand.contact_factor()) * hand.wrap_factor()) *
                        hand.slope_factor())
            .epsilon(0.001));
  CHECK(verdictAt(model, {0, 0, 0}).platform().level() != "");
}

TEST_CASE("verdictAt: beside a pocket the platform is that of the edge a toe finds") {
  Shape shape = facetedShape({{.depth_mm = 50, .width_mm = 150, .incut_deg = -30}});
  Pocket& pocket = *shape.add_pockets();
  pocket.set_direction_deg(-90);
  pocket.mutable_width_mm()->set_value(50);
  pocket.mutable_height_mm()->set_value(26);
  pocket.mutable_depth_mm()->set_value(30);
  const GripVerdict v = verdictAt(GripModel(shape), {0, 0, 0});
  CHECK(v.hand().word() == "pocket");
  REQUIRE(v.hands_size() == 2);
  CHECK(v.hands(1).word() == "sloper");
  CHECK(v.platform().level() == "low");  // Its top slopes by 30, its pocket is no platform.
  CHECK(v.lip_positive() == GripVerdict::ANSWER_UNSPECIFIED);
}

TEST_CASE("compareWith: within sigma of the threshold it is borderline") {
  CHECK(compareWith(0.5, 0.3, 0.05) == GripVerdict::YES);
  CHECK(compareWith(0.1, 0.3, 0.05) == GripVerdict::NO);
  CHECK(compareWith(0.32, 0.3, 0.05) == GripVerdict::BORDERLINE);
  CHECK(compareWith(0.28, 0.3, 0.05) == GripVerdict::BORDERLINE);
  CHECK(compareWith(0.3, 0.3, 0) == GripVerdict::NO);
}

TEST_CASE("compareWith: what is no number is no answer, but borderline") {
  const double none = std::nan("");
  CHECK(compareWith(0.5, 0.3, none) == GripVerdict::BORDERLINE);
  CHECK(compareWith(0.1, 0.3, none) == GripVerdict::BORDERLINE);
  CHECK(compareWith(none, 0.3, 0.05) == GripVerdict::BORDERLINE);
  CHECK(compareWith(0.5, 0.3, HUGE_VAL) == GripVerdict::BORDERLINE);
}

TEST_CASE("verdictAt: a depth whose uncertainty is no number makes no sure answer") {
  const Shape shape = facetedShape({{.depth_mm = 12, .width_mm = 80, .sigma_mm = std::nan("")}});
  const GripVerdict v = verdictAt(GripModel(shape), {0, 0, 0});
  CHECK(v.too_grabbable() == GripVerdict::BORDERLINE);
  CHECK_FALSE(contains(v.sentence(), "nan"));
}

TEST_CASE("verdictAt: a depth whose uncertainty spans the threshold is borderline grabbable") {
  GripThresholds t;
  const Shape shape = facetedShape({{.depth_mm = 12, .width_mm = 80, .sigma_mm = 0.5}});
  t.too_grabbable = GripModel(shape).hand({}).fraction_of_jug + 0.01;
  const GripModel model(shape, handModel(), t);
  CHECK(verdictAt(model, {0, 0, 0}).too_grabbable() == GripVerdict::BORDERLINE);
  CHECK(contains(verdictAt(model, {0, 0, 0}).sentence(), "Borderline grabbable"));
}

TEST_CASE("rangeText: single steps, wraps, all around") {
  FootRange range;
  range.set_from_deg(140);
  range.set_to_deg(200);
  CHECK(rangeText(range) == "140°–200°");
  range.set_from_deg(340);
  range.set_to_deg(375);
  CHECK(rangeText(range) == "340°–15°");
  range.set_to_deg(340);
  CHECK(rangeText(range) == "340°");
  range.set_from_deg(0);
  range.set_to_deg(360);
  CHECK(rangeText(range) == "any rotation");
}
