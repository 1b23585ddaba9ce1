// SPDX-License-Identifier: Apache-2.0
#include "catalog/name_limits.h"

#include <doctest/doctest.h>

using namespace holdshelf;

namespace {

SearchEntry entryIn(const std::string& bin, const std::string& set, const std::string& site) {
  SearchEntry entry;
  entry.bin = bin;
  entry.set = set;
  entry.site = site;
  return entry;
}

}  // namespace

TEST_CASE("name limits: names without regard to case, of a to z only") {
  CHECK(caseless("Harbour LEDGE 7") == "harbour ledge 7");
  CHECK(caseless("Ä") == "Ä");
  Query query;
  query.add_bins("A3");
  query.add_bins("left wall");
  CHECK(isAmong(query.bins(), "a3"));
  CHECK(isAmong(query.bins(), "LEFT WALL"));
  CHECK_FALSE(isAmong(query.bins(), "A"));
  CHECK_FALSE(isAmong(query.sets(), "A3"));
}

TEST_CASE("name limits: a basic colour stands for all its shades, a shade for itself") {
  Query query;
  CHECK(colourNameFits(query, ""));
  query.add_colours("red");
  CHECK(colourNameFits(query, "red"));
  CHECK(colourNameFits(query, "Vivid red"));
  CHECK_FALSE(colourNameFits(query, "blue"));
  CHECK_FALSE(colourNameFits(query, ""));
  query.clear_colours();
  query.add_colours("vivid red");
  CHECK(colourNameFits(query, "vivid red"));
  CHECK_FALSE(colourNameFits(query, "red"));
  CHECK_FALSE(colourNameFits(query, "dark red"));
}

TEST_CASE("name limits: retired holds only when asked for") {
  Query query;
  for (const Status status : {SHELF, CRATE, WALL, WASH, NEEDS_LOOK})
    CHECK(statusFits(query, status));
  CHECK_FALSE(statusFits(query, RETIRED));
  query.add_statuses(RETIRED);
  query.add_statuses(WALL);
  CHECK(statusFits(query, RETIRED));
  CHECK(statusFits(query, WALL));
  CHECK_FALSE(statusFits(query, SHELF));
}

TEST_CASE("name limits: part of the name or of the id") {
  SearchEntry entry;
  entry.id = "H-0042";
  entry.name = "Harbour ledge";
  Query query;
  CHECK(textFits(query, entry));
  for (const auto& [text, fits] :
       {std::pair{"LEDGE", true}, {"h-00", true}, {"bour l", true}, {"H-1", false}}) {
    CAPTURE(text);
    query.set_text(text);
    CHECK(textFits(query, entry) == fits);
  }
}

TEST_CASE("name limits: bin, set and site all have to fit") {
  Query query;
  CHECK(placeFits(query, entryIn("", "", "")));
  query.add_bins("A3");
  CHECK(placeFits(query, entryIn("a3", "", "")));
  CHECK_FALSE(placeFits(query, entryIn("", "", "")));
  query.add_sets("Harbour");
  CHECK_FALSE(placeFits(query, entryIn("a3", "Moor", "")));
  CHECK(placeFits(query, entryIn("a3", "harbour", "")));
  query.add_sites("north");
  CHECK_FALSE(placeFits(query, entryIn("a3", "harbour", "south")));
  CHECK(placeFits(query, entryIn("a3", "harbour", "North")));
}
