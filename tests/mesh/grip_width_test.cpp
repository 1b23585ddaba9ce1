// SPDX-License-Identifier: Apache-2.0
#include "mesh/grip_width.h"

#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "tests/mesh/prepared_hold.h"

using namespace holdshelf;

TEST_CASE("setWidth: from end to end of the edge, which ends at once") {
  test::Place place;
  Grip grip;
  grip.mutable_edge_depth_mm()->set_value(23);
  grip.mutable_edge_depth_mm()->set_sigma(0.05);
  setWidth(place.sections, *place.best.run, place.best.at, 18, grip);
  REQUIRE(grip.spans_size() == 1);
  CHECK(std::abs(grip.spans(0).from_mm() + 55) < 0.3);
  CHECK(std::abs(grip.spans(0).to_mm() - 55) < 0.3);
  CHECK(std::abs(grip.edge_width_mm().value() - 110) < 0.5);
  CHECK(grip.fingers() == 4);  // As many as a hand has.
  CHECK(grip.edge_width_mm().sigma() > 0);
  CHECK(grip.edge_width_mm().sigma() < 0.5);
}
