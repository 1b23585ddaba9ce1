// SPDX-License-Identifier: Apache-2.0
#include "catalog/grip_areas.h"

#include <doctest/doctest.h>

#include <string>

#include "catalog/grip_map.h"
#include "mesh/bad_input.h"
#include "tests/shapes/faceted_shape.h"

using namespace holdshelf;

namespace {

/// One string a wall angle, one letter a rotation: J jug, E edge, blank none; force 0.1 by column.
WordCells cellsOf(const std::vector<std::string>& rings) {
  WordCells cells;
  for (const std::string& ring : rings) {
    cells.emplace_back();
    for (std::size_t r = 0; r < ring.size(); ++r)
      cells.back().push_back({ring[r] == 'J'   ? GripKind::Jug
                              : ring[r] == 'E' ? GripKind::Edge
                                               : GripKind::None,
                              0.1 * static_cast<double>(r)});
  }
  return cells;
}

}  // namespace

TEST_CASE("grip areas: cells of one word that touch by a side, also through rotation 0") {
  const auto areas = gripAreas(cellsOf({"JJ E J",     // The last jug touches the first.
                                        "J  EE ",     //
                                        " J    "}));  // By a corner only: its own.
  REQUIRE(areas.size() == 3);
  CHECK(areas[0].kind == GripKind::Jug);
  CHECK(areas[0].cells.size() == 4);
  CHECK(areas[0].strongest == doctest::Approx(0.5));
  CHECK(areas[1].kind == GripKind::Edge);
  CHECK(areas[1].cells.size() == 3);
  CHECK(areas[1].strongest == doctest::Approx(0.4));
  CHECK(areas[2].cells == std::vector<std::array<int, 2>>{{2, 1}});
}

TEST_CASE("grip areas: wall angles do not wrap around, and no word is no area") {
  CHECK(gripAreas(cellsOf({"J ", "  ", "J "})).size() == 2);
  CHECK(gripAreas(cellsOf({"  ", "  "})).empty());
}

TEST_CASE("word cells: what the map says, feet where hands get little and a toe stands") {
  const GripMap map = makeGripMap(GripModel(facetedShape({{.depth_mm = 20}})));
  const WordCells cells = wordCells(map);
  REQUIRE(static_cast<int>(cells.size()) == map.wall_angles());
  REQUIRE(static_cast<int>(cells[0].size()) == map.rotations());
  // Hands never reach more than everything, and no toe gets more: all cells that a toe stands on.
  GripThresholds feet;
  feet.too_grabbable = 10;
  feet.toe_fraction = 0.35;
  const WordCells standing = wordCells(map, feet);
  int foot = 0, hand = 0;
  for (int w = 0; w < map.wall_angles(); ++w)
    for (int r = 0; r < map.rotations(); ++r) {
      const auto stored = lookUp(map, {5.0 * r, 5.0 * w - 20, 0});
      const WordCell& cell = cells[static_cast<std::size_t>(w)][static_cast<std::size_t>(r)];
      const WordCell& toe = standing[static_cast<std::size_t>(w)][static_cast<std::size_t>(r)];
      if (cell.kind != GripKind::FootOnly) CHECK(cell.kind == stored->kind);
      CHECK((toe.kind == GripKind::FootOnly) == (stored->toe >= 0.35));
      if (toe.kind == GripKind::FootOnly) CHECK(toe.fraction == stored->toe);
      foot += toe.kind == GripKind::FootOnly ? 1 : 0;
      hand += cell.kind == GripKind::Edge ? 1 : 0;
    }
  CHECK(foot > 0);
  CHECK(hand > 0);
  CHECK_THROWS_AS(wordCells(GripMap()), BadInput);
}
