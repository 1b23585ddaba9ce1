// SPDX-License-Identifier: Apache-2.0
#include "catalog/wish_fit.h"

#include <doctest/doctest.h>

#include <cmath>

#include "catalog/gym.h"
#include "tests/shapes/faceted_shape.h"

using namespace holdshelf;

namespace {

void addPanel(Gym& gym, const char* name, double wall_angle_deg, int columns) {
  WallPanel& panel = panelToEdit(zoneToEdit(gym, "cave"), name);
  panel.set_wall_angle_deg(wall_angle_deg);
  panel.set_columns(columns);
  panel.set_rows(10);
}

/// Its edge faces rotation 0 and is best there.
Scan edgeScan() {
  Scan scan;
  *scan.mutable_grip_map() = makeGripMap(GripModel(facetedShape({{.depth_mm = 25}})));
  return scan;
}

}  // namespace

TEST_CASE("panels to try: one of each wall angle, the main one first") {
  Gym gym;
  addPanel(gym, "slab", -10, 4);
  addPanel(gym, "roof", 40, 9);  // Most T-nuts.
  addPanel(gym, "other roof", 40, 5);
  std::vector<std::string> names;
  for (const WallPanel* panel : panelsToTry(gym.zones(0))) names.push_back(panel->name());
  CHECK(names == std::vector<std::string>{"roof", "slab"});
}

TEST_CASE("wish fits: the rotation that misses least on each panel, the best panel first") {
  Gym gym;
  addPanel(gym, "roof", 40, 9);
  addPanel(gym, "slab", -10, 4);
  const auto panels = panelsToTry(gym.zones(0));
  // Wanted turned to 90, and the steeper the worse.
  const auto fits = wishFits(panels, Wish(), edgeScan(), [](double rotation_deg, double wall_deg) {
    return std::optional(std::abs(rotation_deg - 90) + wall_deg);
  });
  REQUIRE(fits.size() == 2);
  CHECK(fits[0].panel->name() == "slab");
  CHECK(fits[0].rotation_deg == 90);
  CHECK(fits[0].miss == -10);
  CHECK(fits[1].panel->name() == "roof");
  CHECK(fits[1].miss == 40);
}

TEST_CASE("wish fits: of equals where the limb holds most, on the first panel; else none") {
  Gym gym;
  addPanel(gym, "wall", 0, 9);
  addPanel(gym, "slab", -10, 4);
  const auto panels = panelsToTry(gym.zones(0));
  const Scan scan = edgeScan();
  const auto same = [](double, double) { return std::optional(1.0); };
  const auto fits = wishFits(panels, Wish(), scan, same);
  CHECK(fits[0].panel->name() == "wall");
  double most = 0;
  for (int step = 0; step < 72; ++step)
    most = std::max(most, double{lookUp(scan.grip_map(), {5.0 * step, 0, 0})->hand});
  CHECK(most > 0.3);
  CHECK(fits[0].force == most);
  CHECK(fits[0].cell.hand == most);
  const auto none =
      wishFits(panels, Wish(), scan, [](double, double) { return std::optional<double>(); });
  REQUIRE(none.size() == 2);
  CHECK(none[0].miss == 1e9);
  CHECK(none[0].panel->name() == "wall");
}
