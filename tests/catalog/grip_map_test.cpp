// SPDX-License-Identifier: Apache-2.0
#include "catalog/grip_map.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <initializer_list>
#include <string>

#include "catalog/grip_words.h"
#include "tests/shapes/faceted_shape.h"

using namespace holdshelf;

static const Shape& twoFaced() {
  static const Shape shape = facetedShape(
      {{.facing_deg = 90, .depth_mm = 40, .width_mm = 100, .lip_radius_mm = 6, .incut_deg = 20},
       {.facing_deg = 200, .depth_mm = 12, .width_mm = 70}});
  return shape;
}

TEST_CASE("makeGripMap: every cell is the model's answer to 1/400") {
  const GripModel model(twoFaced());
  const GripMap map = makeGripMap(model);
  for (int rotation = 0; rotation < 360; rotation += 15)
    for (int wall_angle = -20; wall_angle <= 60; wall_angle += 5)
      for (double pull_deg : {0.0, 90.0, -45.0, 180.0}) {
        const Mounting mounting{1.0 * rotation, 1.0 * wall_angle, pull_deg};
        const auto cell = lookUp(map, mounting);
        REQUIRE(cell);
        const HoldingForce force = model.hand(mounting);
        CHECK(std::abs(cell->hand - force.fraction_of_jug) <= 0.0025 + 1e-12);
        CHECK(cell->kind == force.kind);
        const HandAnswer reach = model.withinReach(rotation, wall_angle);
        CHECK(std::abs(cell->reach - reach.force.fraction_of_jug) <= 0.0025 + 1e-12);
        CHECK(std::abs(cell->toe - model.toe(rotation, wall_angle).fraction) <= 0.0025 + 1e-12);
      }
}

TEST_CASE("lookUp: nearest cell, angles wrapped and clamped; maps of another model are refused") {
  GripMap map = makeGripMap(GripModel(twoFaced()));
  const auto same = [&](Mounting a, Mounting b) {
    return lookUp(map, a)->hand == lookUp(map, b)->hand &&
           lookUp(map, a)->toe == lookUp(map, b)->toe;
  };
  CHECK(same({361, 2, 0}, {0, 0, 0}));
  CHECK(same({-10, 80, 0}, {350, 60, 0}));
  const std::string whole = map.toe_fraction();
  map.set_toe_fraction(whole.substr(1));
  CHECK_FALSE(lookUp(map, {}));
  map.set_toe_fraction(whole);
  map.set_model_version(kGripModelVersion + 1);
  CHECK_FALSE(lookUp(map, {}));
  CHECK(wordsIn(map, 0) == 0);
  CHECK_FALSE(lookUp(GripMap(), {}));
}

TEST_CASE("wordsIn: the words of a wall angle") {
  const GripMap map = makeGripMap(GripModel(twoFaced()));
  const auto has = [&](GripKind kind, double wall_angle_deg) {
    return (wordsIn(map, wall_angle_deg) >> static_cast<int>(kind) & 1) == 1;
  };
  CHECK(has(GripKind::Jug, 0));
  CHECK(has(GripKind::Crimp, 0));
  CHECK_FALSE(has(GripKind::Jug, 40));  // 20 degrees of incut less 40.
  CHECK(has(GripKind::Sloper, 40));
}

TEST_CASE("wordsIn: the words that gripWords gives at that wall angle") {
  const Shape chip = facetedShape({{.depth_mm = 6, .width_mm = 24, .lip_radius_mm = 2}});
  for (const Shape& shape : {twoFaced(), chip}) {
    const GripMap map = makeGripMap(GripModel(shape));
    for (double wall_angle_deg : {-15.0, 0.0, 25.0, 50.0}) {
      unsigned given = 0;
      for (const GripWord& word : gripWords(shape, {}, wall_angle_deg))
        for (int kind = 1; kind < static_cast<int>(kGripKinds); ++kind)
          if (word.word() == wordOf(static_cast<GripKind>(kind))) given |= 1u << kind;
      const unsigned stored = wordsIn(map, wall_angle_deg);
      CAPTURE(wall_angle_deg);
      CHECK((given & ~stored) == 0);  // gripWords leaves out single steps that are borderline.
    }
  }
}

TEST_CASE("bestHand: the largest of the span's cells, over 0 and for any pull") {
  const GripMap map = makeGripMap(GripModel(twoFaced()));
  for (double from_deg : {0.0, 90.0, 300.0})
    for (double pull_deg : {0.0, -90.0}) {
      double most = 0;
      for (double turn_deg = 0; turn_deg <= 120; turn_deg += 5)
        most = std::max(most, lookUp(map, {from_deg + turn_deg, 30, pull_deg})->hand);
      const auto best = bestHand(map, {from_deg, from_deg + 120, 30, pull_deg});
      REQUIRE(best);
      CHECK(best->cell.hand == most);
      CHECK(lookUp(map, {best->rotation_deg, 30, pull_deg})->hand == most);
      CHECK(wrap360(best->rotation_deg - from_deg) <= 120);
      CHECK(bestHand(map, {from_deg, wrap360(from_deg + 120), 30, pull_deg})->rotation_deg ==
            best->rotation_deg);
    }
  CHECK(bestHand(map, {.from_deg = 46, .to_deg = 48})->rotation_deg == 45);
  CHECK(bestHand(map, {.from_deg = -180, .to_deg = 180})->cell.hand ==
        bestHand(map, {})->cell.hand);
  CHECK_FALSE(bestHand(GripMap(), {}));
}

TEST_CASE("bestFoot: only where hands are kept off and a toe is served") {
  const GripMap map = makeGripMap(GripModel(twoFaced()));
  const GripThresholds t;
  for (double wall_angle_deg : {-20.0, 0.0, 30.0}) {
    double most = 0;
    for (int rotation = 0; rotation < 360; rotation += 5) {
      const auto cell = lookUp(map, {1.0 * rotation, wall_angle_deg, 0});
      if (cell->reach <= t.too_grabbable && cell->toe >= t.toe_fraction)
        most = std::max(most, cell->toe);
    }
    const auto best = bestFoot(map, {.wall_angle_deg = wall_angle_deg});
    CHECK(best.has_value() == (most > 0));
    if (best) CHECK(best->cell.toe == most);
  }
  // The jug side up is no foothold however high the toe's share.
  CHECK_FALSE(bestFoot(map, {.from_deg = 0, .to_deg = 0}));
  GripThresholds any;
  any.too_grabbable = 1;
  CHECK(bestFoot(map, {.from_deg = 0, .to_deg = 0}, any));
}

TEST_CASE("GripMap: a map survives serialization and stays small") {
  const GripMap map = makeGripMap(GripModel(twoFaced()));
  GripMap copy;
  REQUIRE(copy.ParseFromString(map.SerializeAsString()));
  CHECK(copy.SerializeAsString() == map.SerializeAsString());
  CHECK(map.ByteSizeLong() < 8 * 72 * 17 + 120);  // Eight numbers a cell of a byte each.
}
