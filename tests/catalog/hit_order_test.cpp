// SPDX-License-Identifier: Apache-2.0
#include "catalog/hit_order.h"

#include <doctest/doctest.h>

#include <numeric>

#include "tests/catalog/search_holds.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

/// Ids in the query's order.
Ids sorted(const std::vector<Hold>& holds, const Query& query) {
  std::vector<SearchEntry> entries;
  for (const Hold& hold : holds) entries.push_back(searchEntry(hold));
  std::vector<std::size_t> order(entries.size());
  std::iota(order.begin(), order.end(), 0U);
  sortMatches(QueryMatcher(query), entries, order);
  Ids ids;
  for (const std::size_t i : order) ids.push_back(entries[i].id);
  return ids;
}

Ids sorted(const std::vector<Hold>& holds, const std::string& key) {
  Query query;
  query.set_sort(key);
  return sorted(holds, query);
}

}  // namespace

TEST_CASE("hit order: by id, whenever they came in") {
  std::vector<Hold> holds;
  Ids as_they_came;
  for (const char* id : {"H-0010", "bag", "H-10000", "H-9", "H-2000", "G-3000", "77"}) {
    holds.push_back(makeHold(id, "#be0032", 30));
    as_they_came.push_back(id);
  }
  CHECK(sorted(holds, "") == as_they_came);
  const Ids wanted{"77", "G-3000", "H-9", "H-0010", "H-2000", "H-10000", "bag"};
  CHECK(sorted(holds, "id") == wanted);
  CHECK(sorted(holds, "-id") == Ids(wanted.rbegin(), wanted.rend()));
  CHECK_FALSE(idBefore("H-9", "H-0009"));  // The same number.
  CHECK_FALSE(idBefore("H-0009", "H-9"));
}

TEST_CASE("hit order: by a number, without it last either way") {
  std::vector<Hold> holds = threeHolds();  // Deepest edges: 25, 22, 35 mm.
  holds.insert(holds.begin(), makeHold("H-0000", "#be0032", 50));
  CHECK(sorted(holds, "edge-depth") == Ids{"H-0002", "H-0001", "H-0003", "H-0000"});
  CHECK(sorted(holds, "-edge-depth") == Ids{"H-0003", "H-0001", "H-0002", "H-0000"});
  CHECK(sorted(holds, "protrusion") == Ids{"H-0001", "H-0002", "H-0000", "H-0003"});
  // The edge that answers counts: of H-0001 only the 14 mm one is incut.
  Query query = ranges({{"incut", "0.."}});
  query.set_sort("edge-depth");
  CHECK(sorted(holds, query) == Ids{"H-0001", "H-0002", "H-0003", "H-0000"});
}

TEST_CASE("hit order: by name and by a patch, equals as they came") {
  std::vector<Hold> holds = threeHolds();
  holds[0].set_name("moor");
  holds[1].set_name("harbour");
  holds[2].set_name("moor");
  CHECK(sorted(holds, "name") == Ids{"H-0002", "H-0001", "H-0003"});
  CHECK(sorted(holds, "-name") == Ids{"H-0001", "H-0003", "H-0002"});
  Query query;  // A blue, without an order of its own.
  const Lab lab = labFromHex("#0050c8");
  for (const double value : {lab.L, lab.a, lab.b}) query.add_lab(value);
  CHECK(sorted(holds, query) == Ids{"H-0002", "H-0001", "H-0003"});
  query.set_sort("-colour-distance");
  CHECK(sorted(holds, query) == Ids{"H-0001", "H-0003", "H-0002"});
}
