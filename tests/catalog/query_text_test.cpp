// SPDX-License-Identifier: Apache-2.0
#include "catalog/query_text.h"

#include <doctest/doctest.h>

#include "mesh/bad_input.h"

using namespace holdshelf;

TEST_CASE("query text: ranges as people write them") {
  const auto check = [](const char* text, double from, double to) {
    CAPTURE(text);
    const Range range = parseRange("edge-depth", text);
    CHECK(range.number() == "edge-depth");
    CHECK(range.from() == from);
    CHECK(range.to() == to);
  };
  check("12..20", 12, 20);
  check("14±1", 13, 15);
  check("14+-1", 13, 15);
  check("14", 12, 16);  // A small difference of an edge's depth is 2 mm.
  CHECK_FALSE(parseRange("edge-depth", "12..").has_to());
  CHECK_FALSE(parseRange("edge-depth", "..20").has_from());
  for (const char* bad : {"", "..", "a", "12-20", "20..12", "1..2..3", "12..b", "nan", "inf.."}) {
    CAPTURE(bad);
    CHECK_THROWS_AS(parseRange("edge-depth", bad), BadInput);
  }
  CHECK_THROWS_AS(parseRange("beauty", "1..2"), BadInput);
}

TEST_CASE("query text: rotations, also through zero") {
  const auto check = [](const char* text, double from_deg, double to_deg) {
    CAPTURE(text);
    Query query;
    setRotation(query, text);
    CHECK(query.rotation_from_deg() == from_deg);
    CHECK(query.rotation_to_deg() == to_deg);
  };
  check("0..60", 0, 60);
  check("330..30", 330, 390);
  check("330..390", 330, 390);
  check("90", 87.5, 92.5);
  Query query;
  CHECK_THROWS_AS(setRotation(query, "10.."), BadInput);
}

TEST_CASE("query text: a drawn lip is at least two points, two numbers a line") {
  LipQuery lip;
  setDrawnLip(lip, "# mm from the wall, mm up\n1 2\n3.5, -4\n", "lip.txt");
  REQUIRE(lip.points_mm_size() == 2);
  CHECK(lip.points_mm(1).x() == 3.5);
  CHECK(lip.points_mm(1).y() == -4);
  for (const char* bad : {"", "1 2", "1 2\n3", "a b\n1 2", "1 2 3\n4 5"}) {
    LipQuery none;
    CAPTURE(bad);
    CHECK_THROWS_AS(setDrawnLip(none, bad, "lip.txt"), BadInput);
  }
}

TEST_CASE("query text: the lip of a hold, at a rotation") {
  LipQuery lip;
  setLipLike(lip, "H-0123");
  CHECK(lip.like() == "H-0123");
  CHECK_FALSE(lip.has_like_rotation_deg());
  setLipLike(lip, "H-0123@30");
  CHECK(lip.like() == "H-0123");
  CHECK(lip.like_rotation_deg() == 30);
  CHECK_THROWS_AS(setLipLike(lip, "H-0123@up"), BadInput);
}
