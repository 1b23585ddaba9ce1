// SPDX-License-Identifier: Apache-2.0
#include "catalog/found_hit.h"

#include <doctest/doctest.h>

#include <cmath>

#include "tests/catalog/search_holds.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

FindHit hitFor(const Query& query, const Hold& hold) {
  const QueryMatcher matcher(query);
  const SearchEntry entry = searchEntry(hold);
  return hitOf(matcher, entry, matcher.chosenRows(entry));
}

Ids numbersOf(const FindHit& hit) {
  Ids numbers;
  for (const FoundNumber& number : hit.numbers()) numbers.push_back(number.number());
  return numbers;
}

}  // namespace

TEST_CASE("found hit: numbers asked about and sorted by first, each once, none that is not there") {
  const Hold hold = threeHolds()[0];
  CHECK(numbersOf(hitFor({}, hold)) == Ids{"edge-depth", "lip-radius", "incut", "protrusion"});
  Query query = ranges({{"incut", "..0"}, {"pocket-depth", "..90"}});
  query.set_sort("-protrusion");
  const FindHit hit = hitFor(query, hold);
  CHECK(numbersOf(hit) == Ids{"incut", "protrusion", "edge-depth", "lip-radius"});
  // Those of the edge that answers, 25 mm deep and sloping.
  CHECK(hit.rotation_deg() == 90);
  CHECK(hit.numbers(0).value() == doctest::Approx(-20));
  CHECK(hit.numbers(2).value() == doctest::Approx(25));
}

TEST_CASE("found hit: the edge's rotation turns with the pull, words are named once") {
  Hold hold = threeHolds()[1];
  *hold.add_words() = hold.words(0);
  Query query;
  query.set_pull_deg(-90);
  const FindHit hit = hitFor(query, hold);
  CHECK(hit.rotation_deg() == 270);
  REQUIRE(hit.words_size() == 1);
  CHECK(hit.words(0) == "edge");
  CHECK(hit.id() == "H-0002");
  CHECK(hit.status() == SHELF);
  CHECK_FALSE(hit.has_hand());  // Not asked for.
  CHECK_FALSE(hit.has_foot());
}

TEST_CASE("found hit: a number of a part that the hold has not is NaN") {
  const SearchEntry entry = searchEntry(threeHolds()[0]);
  const ChosenRows rows = QueryMatcher({}).chosenRows(entry);
  CHECK(chosenValue(entry, rows, *numberKind("edge-depth")) == doctest::Approx(25));
  CHECK(std::isnan(chosenValue(entry, rows, *numberKind("pocket-depth"))));
  CHECK(std::isnan(chosenValue(entry, rows, *numberKind("edge-width"))));
}
