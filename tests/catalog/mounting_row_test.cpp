// SPDX-License-Identifier: Apache-2.0
#include "catalog/mounting_row.h"

#include <doctest/doctest.h>

#include <cmath>

#include "catalog/grip_model.h"
#include "mesh/measure_shape.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;

TEST_CASE("mounting row: answers as the stored grip map does at the steps it keeps") {
  for (const char* name : {"edge", "chip", "dome"}) {
    CAPTURE(name);
    const ExactHold hold = holdNamed(name);
    const GripMap map = makeGripMap(GripModel(measureShape(meshSdf(hold.solid, hold.box_mm, 1.5))));
    const std::string packed = packMountings(map);
    CHECK(packed.size() <= 658);
    const MostUse most = mostUse(packed);
    for (const double wall_angle_deg : {-20.0, 0.0, 30.0, 60.0})
      for (const double pull_deg : {0.0, 90.0})
        for (const double from_deg : {0.0, 40.0, 350.0}) {
          CAPTURE(from_deg);
          // One kept rotation alone: exactly the map's cell.
          const MountingSpan one{from_deg, from_deg, wall_angle_deg, pull_deg};
          const auto kept = mostForce(packed, one);
          REQUIRE(kept);
          const auto best = bestHand(map, one);
          REQUIRE(best);
          CHECK(std::abs(kept->fraction - best->cell.hand) < 1e-9);
          CHECK(std::abs(kept->rotation_deg - best->rotation_deg) < 1e-9);
          const auto stand = bestStand(packed, one);
          const auto foot = bestFoot(map, one);
          CHECK(std::abs(stand->fraction - (foot ? foot->cell.toe : 0)) < 1e-9);
          // A span: never more than the map, which also knows the steps between.
          const MountingSpan span{from_deg, from_deg + 60, wall_angle_deg, pull_deg};
          const auto wide = mostForce(packed, span);
          CHECK(wide->fraction <= bestHand(map, span)->cell.hand + 1e-9);
          CHECK(wide->fraction >= kept->fraction - 1e-9);
          CHECK(most.handMayReach(wall_angle_deg, wide->fraction));
          if (stand->fraction > 0) CHECK(most.footMayStand(wall_angle_deg));
        }
    const auto anywhere = mostForce(packed, {0, 355, 15, 0});
    CHECK(most.handMayReach(15, anywhere->fraction));
  }
  CHECK(packMountings({}).empty());
  CHECK_FALSE(mostForce("", {}));
  CHECK(mostForce("abc", {})->fraction <= 0);  // Damaged: nothing to hold.
}
