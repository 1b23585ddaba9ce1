// SPDX-License-Identifier: Apache-2.0
#include <stdexcept>

#include "catalog/find.h"
#include "catalog/query_text.h"
#include "tests/bench/made_holds.h"
#include "tests/reliability/fuzz/filled_message.h"
#include "tests/reliability/fuzz/target.h"

using namespace holdshelf;

namespace {

/// A few holds with lips.
const SearchIndex& someHolds() {
  static const SearchIndex index = [] {
    std::mt19937 random(20310504);
    std::vector<Hold> holds;
    for (int i = 0; i < 8; ++i) {
      holds.push_back(bench::makeHold(random, i));
      holds.back().mutable_scans(0)->set_lips(bench::baseLips(random));
    }
    return SearchIndex(holds);
  }();
  return index;
}

/// A drawn lip, as `find --lip FILE` reads it, and the search for it.
void take(const std::string& bytes) {
  Query query;
  setDrawnLip(*query.mutable_lip(), bytes, "lip.txt");
  query.set_limit(3);
  const FindResult found = someHolds().find(query);
  for (const FindHit& hit : found.hits())
    if (!(hit.lip().gap_mm() >= 0)) throw std::logic_error("a gap that is no number");
}

std::vector<std::string> seeds() {
  std::string drawn = "# mm from the wall, mm up\n";
  for (const auto& p : lipOfNumbers(12, -20, 25))
    drawn += std::to_string(p.y()) + ", " + std::to_string(p.x()) + "\n";
  return {drawn, "0 0\n20 3\n24 -8\n", "30;0\n30;10\n\n12.5;14 # the root\n",
          R"({"pointsMm": [{"x": 0, "y": 0}, {"x": 20, "y": 3}, {"x": 22, "y": -9}]})"};
}

std::vector<std::string> roughSeeds() {
  return {test::filledJson(*LipQuery::descriptor()),
          "1e308 -1e308\n-1e308 1e308\n",
          "0 0\n0 0\n0 0\n",
          "nan 0\ninf 3\n",
          "0 0\n3000 0\n0 1e-300\n",
          "\xEF\xBB\xBF"
          "0,0\r\n20,3\r\n"};
}

const test::FuzzTarget target("lip", take, seeds, roughSeeds);

}  // namespace
