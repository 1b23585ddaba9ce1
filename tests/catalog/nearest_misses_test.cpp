// SPDX-License-Identifier: Apache-2.0
#include "catalog/nearest_misses.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <random>

#include "catalog/query_miss.h"
#include "tests/bench/made_holds.h"
#include "tests/catalog/search_holds.h"

using namespace holdshelf;
using namespace holdshelf::test;

TEST_CASE("nearest misses: those of looking at all, equals in the order in which they came in") {
  std::mt19937 random(20310612);
  NumberBounds bounds;
  std::vector<SearchEntry> entries;
  for (int i = 0; i < 400; ++i) {
    entries.push_back(searchEntry(bench::makeHold(random, i)));
    bounds.add(entries.back().row.numbers);
  }
  for (int trial = 0; trial < 40; ++trial) {
    Query query = ranges({{"edge-depth", (std::to_string(50 + random() % 40) + "..").c_str()},
                          {"protrusion", (".." + std::to_string(random() % 30)).c_str()}});
    if (trial % 2 == 0) query.clear_ranges();
    if (trial % 2 == 0) query.add_words("jug");  // All that are none are as far off: 3.
    const QueryMatcher matcher(query);
    std::vector<std::pair<double, std::size_t>> all;
    for (std::size_t i = 0; i < entries.size(); ++i)
      all.emplace_back(missDistance(matcher, entries[i]), i);
    std::sort(all.begin(), all.end());
    const auto found = nearestMisses(matcher, entries, bounds, 5);
    REQUIRE(found.size() == 5);
    for (std::size_t i = 0; i < found.size(); ++i) CHECK(found[i] == all[i].second);
  }
}

TEST_CASE("nearest misses: of few holds all") {
  NumberBounds bounds;
  std::vector<SearchEntry> entries;
  const QueryMatcher matcher(ranges({{"edge-depth", "90.."}}));
  CHECK(nearestMisses(matcher, entries, bounds, 3).empty());
  for (const Hold& hold : threeHolds()) {
    entries.push_back(searchEntry(hold));
    bounds.add(entries.back().row.numbers);
  }
  // Their deepest edges are 25, 22 and 35 mm.
  CHECK(nearestMisses(matcher, entries, bounds, 9) == std::vector<std::size_t>{2, 0, 1});
  // The last one that still has a place is not compared with those before it.
  const QueryMatcher shallow(ranges({{"edge-depth", "..10"}}));
  CHECK(nearestMisses(shallow, entries, bounds, 3) == std::vector<std::size_t>{0, 1, 2});
}
