// SPDX-License-Identifier: Apache-2.0
#include "catalog/query_miss.h"

#include <doctest/doctest.h>

#include <random>

#include "mesh/bad_input.h"
#include "tests/bench/made_holds.h"
#include "tests/catalog/search_holds.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

SearchEntry entryOf(const Hold& hold) { return searchEntry(hold); }

/// A red edge, 25 mm deep at rotation 90 and 14 at 0, on the shelf in bin A3.
SearchEntry redEdge() {
  Hold hold = threeHolds()[0];
  hold.set_bin("A3");
  return entryOf(hold);
}

}  // namespace

TEST_CASE("query miss: in small differences of the number, in the row that comes nearest") {
  const QueryMiss miss = missOf(QueryMatcher(ranges({{"edge-depth", "18..20"}})), redEdge());
  CHECK(miss.distance == doctest::Approx(2));  // 14 mm is 4 off, in units of 2; 25 mm is 5 off.
  CHECK(miss.reasons == Ids{"edge depth 14 mm, not 18 mm to 20 mm"});
  CHECK(miss.rows[static_cast<std::size_t>(NumberGroup::Grip)] == 0);
  CHECK(missOf(QueryMatcher(ranges({{"edge-depth", "12..20"}})), redEdge()).distance == 0);
}

TEST_CASE("query miss: names and places miss by a fixed amount each, and say what is") {
  Query query;
  query.add_colours("blue");
  query.add_colours("grey");
  query.add_bins("A4");
  query.add_sets("Harbour");
  query.set_text("ledge");
  query.add_words("pinch");
  query.add_statuses(WALL);
  const QueryMiss miss = missOf(QueryMatcher(query), redEdge());
  CHECK(miss.reasons == Ids{"is on the shelf", "is vivid red, not blue or grey", "is in bin A3",
                            "is in no set", "has another name", "is no pinch"});
  CHECK(miss.distance == 6 * 3);
}

TEST_CASE("query miss: a wrong rotation, a part that is not there, an unknown force") {
  Query query = ranges({{"edge-depth", "24.."}, {"pocket-depth", "10.."}});
  setRotation(query, "0..20");
  query.set_grip_force_from(0.4);
  const QueryMiss miss = missOf(QueryMatcher(query), redEdge());
  CHECK(miss.reasons ==
        Ids{"only when turned to 90°", "has no pocket depth", "has no known grip force"});
  CHECK(miss.distance == 3 + 6 + 6);  // At rotation 0 the edge would be 5 differences short.
}

TEST_CASE("query miss: a hold whose colour nobody measured is near no patch") {
  Hold hold = blackBySight();
  const Query query = nearBlack();
  CHECK(missOf(QueryMatcher(query), entryOf(hold)).reasons == Ids{"has no measured colour"});
  hold.mutable_colour()->set_l(40);
  const QueryMiss off = missOf(QueryMatcher(query), entryOf(hold));
  REQUIRE(off.reasons.size() == 1);
  CHECK(off.reasons[0].starts_with("colour differs by "));
  CHECK(off.reasons[0].ends_with(", not 12 or less"));
}

TEST_CASE("query miss: 0 exactly for what matches, and never below its own lower bound") {
  std::mt19937 random(20310611);
  NumberBounds bounds;
  std::vector<SearchEntry> entries;
  for (int i = 0; i < 200; ++i) {
    entries.push_back(entryOf(bench::makeHold(random, i)));
    bounds.add(entries.back().row.numbers);
  }
  int matching = 0, bounded = 0;
  for (int trial = 0; trial < 60; ++trial) {
    const auto from = [&](unsigned most) { return std::to_string(random() % most); };
    Query query = ranges({{"edge-depth", (from(40) + "..").c_str()},
                          {"incut", (from(20) + "..").c_str()},
                          {"protrusion", (".." + from(90)).c_str()}});
    if (trial % 3 == 0) setRotation(query, from(180) + ".." + std::to_string(180 + random() % 90));
    const QueryMatcher matcher(query);
    for (std::size_t i = 0; i < entries.size(); ++i) {
      const double distance = missDistance(matcher, entries[i]);
      const QueryMiss miss = missOf(matcher, entries[i]);
      CHECK(distance == miss.distance);
      CHECK((distance == 0) == matcher.matches(entries[i]));
      CHECK(miss.reasons.empty() == (distance == 0));
      CHECK(missAtLeast(matcher, entries[i], bounds, i) <= distance);
      matching += distance == 0 ? 1 : 0;
      bounded += missAtLeast(matcher, entries[i], bounds, i) > 0 ? 1 : 0;
    }
  }
  CHECK(matching > 100);  // Both happen.
  CHECK(bounded > 100);
}
