// SPDX-License-Identifier: Apache-2.0
#include "catalog/limit_text.h"

#include <doctest/doctest.h>

#include "mesh/bad_input.h"

using namespace holdshelf;

namespace {

Range range(const char* number) {
  Range range;
  range.set_number(number);
  return range;
}

}  // namespace

TEST_CASE("limit text: numbers with their units, no more digits than it takes") {
  CHECK(shortNumber(12) == "12");
  CHECK(shortNumber(12.54) == "12.5");
  CHECK(shortNumber(-0.01) == "0");
  CHECK(withUnit(12, "mm") == "12 mm");
  CHECK(withUnit(-4.5, "\u00b0") == "-4.5\u00b0");
  CHECK(kindOrThrow("edge-depth").unit == std::string("mm"));
  try {
    (void)kindOrThrow("edge-colour");
    CHECK(false);
  } catch (const BadInput& refused) {
    CHECK(std::string(refused.what()).find("edge-depth") != std::string::npos);
  }
}

TEST_CASE("limit text: ranges with one end or both") {
  Range limit = range("edge-depth");
  limit.set_from(12);
  CHECK(rangeText(limit) == "12 mm or more");
  limit.set_to(20.5);
  CHECK(rangeText(limit) == "12 mm to 20.5 mm");
  limit.clear_from();
  CHECK(rangeText(limit) == "20.5 mm or less");
}

TEST_CASE("limit text: forces and walls") {
  Query query;
  CHECK(wallText(query) == "on a vertical wall");
  query.set_wall_angle_deg(35);
  CHECK(wallText(query) == "at 35\u00b0 past vertical");
  query.set_wall_angle_deg(-10);
  CHECK(wallText(query) == "on a slab of 10\u00b0");
  query.set_grip_force_from(0.4);
  CHECK(forceText(query) == "0.40 or more");
  query.set_grip_force_to(0.6);
  CHECK(forceText(query) == "0.40 to 0.60");
  query.clear_grip_force_from();
  CHECK(forceText(query) == "0.60 or less");
}

TEST_CASE("limit text: each limit is taken away once, and nothing else") {
  Query query;
  *query.add_ranges() = range("edge-depth");
  query.mutable_ranges(0)->set_from(12);
  *query.add_ranges() = range("protrusion");
  query.mutable_ranges(1)->set_to(40);
  for (const char* colour : {"red", "blue", "grey"}) query.add_colours(colour);
  query.add_words("crimp");
  query.set_foot(true);
  query.add_statuses(WALL);
  const auto wider = withoutEachLimit(query);
  REQUIRE(wider.size() == 6);
  CHECK(wider[0].first.find("12 mm or more") != std::string::npos);
  REQUIRE(wider[0].second.ranges_size() == 1);
  CHECK(wider[0].second.ranges(0).number() == "protrusion");
  CHECK(wider[2].first == "colour red, blue or grey");
  for (const auto& [limit, less] : wider) {
    CAPTURE(limit);
    // Without a word of status only retired holds are passed over: all are named instead.
    CHECK(withoutEachLimit(less).size() == (limit == "status" ? 6 : 5));
  }
  CHECK(withoutEachLimit({}).empty());
}
