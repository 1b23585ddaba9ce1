// SPDX-License-Identifier: Apache-2.0
#include "catalog/gaps.h"

#include <doctest/doctest.h>

#include "mesh/bad_input.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;

namespace {

void add(Library& library, const std::string& colour, const std::string& word, double long_mm,
         double out_mm, int count, Status status = SHELF) {
  Event made, scanned;
  made.mutable_created()->set_status(status);
  made.mutable_created()->set_said_colour(colour);
  made.mutable_created()->set_count(count);
  scanned.mutable_scanned()->set_id("scan");
  Shape& shape = *scanned.mutable_scanned()->mutable_shape();
  shape.mutable_longest_extent_mm()->set_value(long_mm);
  shape.mutable_protrusion_mm()->set_value(out_mm);
  scanned.add_words()->set_word(word);
  library.commit({made, scanned});
}

}  // namespace

TEST_CASE("stockOf: pieces by kind, against targets, the thinnest first") {
  test::TempFolder folder;
  Library library = Library::openOrCreate(folder.path());
  add(library, "vivid red", "crimp", 50, 20, 4);
  add(library, "red", "crimp", 80, 20, 1, WALL);
  add(library, "red", "jug", 130, 70, 1, NEEDS_LOOK);
  add(library, "blue", "jug", 250, 45, 9);
  add(library, "blue", "jug", 250, 45, 100, RETIRED);

  const StockReport all = stockOf(library, {}, {});
  CHECK(all.pieces() == 15);
  CHECK(all.lines_size() == 4);

  const auto targets = parseTargets(
      "colour,grip,size,profile,want,most\nred,crimp,*,low,10,\n*,jug,,,2,5\nred,jug,large,high,1,"
      "\n"
      "blue,*,huge,middle,6,9\n",
      "t.csv");
  const StockReport report = stockOf(library, targets, {});
  REQUIRE(report.lines_size() == 4);
  CHECK(report.lines(0).verdict() == "thin");
  CHECK(report.lines(0).pieces() == 5);
  CHECK(report.lines(0).on_shelf() == 4);
  CHECK(report.lines(1).verdict() == "mostly worn");
  CHECK(report.lines(2).verdict() == "as wished");
  CHECK(report.lines(3).verdict() == "over-stocked");
  CHECK(report.lines(3).pieces() == 10);
}

TEST_CASE("targetsCsv: what is written is read back") {
  test::TempFolder folder;
  Library library = Library::openOrCreate(folder.path());
  add(library, "red", "crimp", 50, 20, 4);
  const auto targets = parseTargets(targetsCsv(stockOf(library, {}, {})), "t.csv");
  REQUIRE(targets.size() == 1);
  CHECK(targets[0].want() == 4);
  CHECK(stockOf(library, targets, {}).lines(0).verdict() == "as wished");
}

TEST_CASE("parseTargets: a bad line is named") {
  const auto refused = [](const std::string& text, const char* part) {
    CHECK_THROWS_WITH_AS(parseTargets(text, "t.csv"), doctest::Contains(part), BadInput);
  };
  refused("colour,grip,want\nred,crimp,3\ncrimson,jug,1\n", "line 3: \"crimson\" is not a colour");
  refused("colour,want\nred,-2\n", "line 2: want \"-2\"");
  refused("colour,want\nred,\n", "want is missing");
  refused("colour,want,most\nred,4,2\n", "most is less than want");
  refused("color,want\nred,1\n", "no column \"color\"");
}
