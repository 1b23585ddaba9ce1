// SPDX-License-Identifier: Apache-2.0
#include "catalog/query_line.h"

#include <doctest/doctest.h>

#include "catalog/ask.h"
#include "catalog/console.h"
#include "mesh/bad_input.h"

using namespace holdshelf;

namespace {

Query read(const std::string& line) {
  Query query;
  addQueryLine(line, query);
  return query;
}

std::string json(const std::string& line) {
  std::string text = toJson(read(line)), dense;
  for (const char c : text)
    if (c != ' ' && c != '\n') dense += c;
  return dense;
}

std::string sentence(const std::string& line) {
  try {
    read(line);
  } catch (const BadInput& error) {
    return error.what();
  }
  return "no error";
}

}  // namespace

TEST_CASE("query line: what a setter says is what the flags say") {
  const Query query = read("red edge 14..20 mm deep, incut over 5, on the shelf, bin A3");
  REQUIRE(query.ranges_size() == 2);
  CHECK(query.ranges(0).number() == "edge-depth");
  CHECK(query.ranges(0).from() == 14);
  CHECK(query.ranges(0).to() == 20);
  CHECK(query.ranges(1).number() == "incut");
  CHECK(query.ranges(1).from() == 5);
  CHECK_FALSE(query.ranges(1).has_to());
  CHECK(query.colours(0) == "red");
  CHECK(query.words(0) == "edge");
  CHECK(query.statuses(0) == SHELF);
  CHECK(query.bins(0) == "A3");
}

TEST_CASE("query line: the same thing said otherwise") {
  const std::string deep = json("edge depth 14..20");
  for (const char* line : {"14..20 mm deep", "edge depth 14 to 20 mm", "Edge-Depth 14..20",
                           "1.4cm to 2cm deep", "with an edge depth of 14..20", "17 ± 3 mm deep"}) {
    CAPTURE(line);
    CHECK(json(line) == deep);
  }
  CHECK(json("protrusion at most 30 mm") == json("under 30 mm proud"));
  CHECK(json("four fingers") == json("at least 4 fingers"));
  CHECK(json("at 30 deg") == json("on a 30 deg wall"));
  CHECK(json("pulled up") == json("undercling"));
  CHECK(json("pulled left") == json("pulled -90"));
  CHECK(json("vivid red jugs") == json("jug vivid red"));
  CHECK(json("foot at 15 deg and not too grabbable") == json("foothold, wall angle 15"));
  CHECK(json("edge depth about 14") == json("14 mm deep"));
}

TEST_CASE("query line: mounting, lips, order") {
  const Query force = read("grip force over 0.4 at 30 deg, turned 330..30, pulled right");
  CHECK(force.grip_force_from() == 0.4);
  CHECK_FALSE(force.has_grip_force_to());
  CHECK(force.wall_angle_deg() == 30);
  CHECK(force.rotation_from_deg() == 330);
  CHECK(force.rotation_to_deg() == 390);
  CHECK(force.pull_deg() == 90);
  const Query like =
      read("the lip like H-0123 at rotation 30 within 1.5 mm but protrusion at most 30");
  CHECK(like.lip().like() == "H-0123");
  CHECK(like.lip().like_rotation_deg() == 30);
  CHECK(like.lip().within_mm() == 1.5);
  CHECK(like.ranges(0).to() == 30);
  const Query shape = read("lip shaped radius 5 incut -12 depth 20, deepest first, show 7");
  CHECK(shape.lip().radius_mm() == 5);
  CHECK(shape.lip().incut_deg() == -12);
  CHECK(shape.lip().depth_mm() == 20);
  CHECK(shape.sort() == "-edge-depth");
  CHECK(shape.limit() == 7);
  CHECK(read("sorted by -lip radius").sort() == "-lip-radius");
  CHECK(read("bin \"A 3\" named \"Harbour ledge\"").text() == "Harbour ledge");
  CHECK(read("on the shelf or in a crate").statuses_size() == 2);
}

TEST_CASE("query line: errors point at the word") {
  CHECK(sentence("red edge, purpel") ==
        "In the question 'red edge, purpel' \"purpel\" (word 3) is not understood: did you mean "
        "purple?");
  CHECK(sentence("red 14..20").find("\"14..20\" (word 2) does not say of what") !=
        std::string::npos);
  CHECK(sentence("bin").find("the end comes too early: the bin is missing") != std::string::npos);
  CHECK(sentence("edge depth 20..14").find("(word 3)") != std::string::npos);
  CHECK(sentence("turned north").find("\"north\" (word 2)") != std::string::npos);
  CHECK(sentence("patch reddish").find("\"reddish\" (word 2)") != std::string::npos);
  CHECK(sentence("within 2 mm").find("no lip is wanted") != std::string::npos);
  CHECK(sentence("named \"ledge").find("does not end") != std::string::npos);
  CHECK(sentence("edge depth").find("\"depth\"") != std::string::npos);
}

TEST_CASE("ask: text and JSON fold into one query") {
  const Query text = queryOf("red, edge depth 14..20, foot at 15 deg");
  const Query other = queryOf(
      R"({"ranges": [{"number": "edge-depth", "from": 14, "to": 20}], "colours": ["red"],
          "foot": true, "wall_angle_deg": 15})");
  CHECK(text.SerializeAsString() == other.SerializeAsString());
  CHECK(text.limit() == 20);
  CHECK(queryText(text) == "edge depth 14 mm to 20 mm; colour red; foot use");
  CHECK_THROWS_AS(queryOf(R"({"colour": "red"})"), BadInput);
}
