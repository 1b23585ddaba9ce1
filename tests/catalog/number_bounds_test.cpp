// SPDX-License-Identifier: Apache-2.0
#include "catalog/number_bounds.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <vector>

using namespace holdshelf;

TEST_CASE("number bounds: never against what reading every row says") {
  std::mt19937 random(4711);
  std::uniform_real_distribution<float> uniform(0, 30);
  const NumberKind& incut = *numberKind("incut");
  const std::size_t columns = columnCount(NumberGroup::Grip);
  NumberBounds bounds;
  std::vector<std::vector<float>> truth;  // Of each hold, the incuts that were measured.
  for (int hold = 0; hold < 300; ++hold) {
    HoldNumbers numbers;
    NumberTable& table = numbers.at(static_cast<std::size_t>(NumberGroup::Grip));
    truth.emplace_back();
    table.rows = random() % 4;
    for (std::size_t row = 0; row < table.rows; ++row) {
      std::vector<float> values(columns, 1);
      const bool measured = random() % 4 != 0;
      values[incut.column] = measured ? uniform(random) : NAN;
      if (measured) truth.back().push_back(values[incut.column]);
      table.values.insert(table.values.end(), values.begin(), values.end());
    }
    bounds.add(numbers);
  }
  int sure = 0, excluded = 0;
  for (int query = 0; query < 50; ++query) {
    float from = uniform(random), to = uniform(random);
    if (from > to) std::swap(from, to);
    for (std::size_t hold = 0; hold < truth.size(); ++hold) {
      const bool fits = std::any_of(truth[hold].begin(), truth[hold].end(),
                                    [&](float v) { return v >= from && v <= to; });
      const bool may = bounds.mayFit(hold, incut, from, to);
      const bool surely = bounds.surelyFits(hold, incut, from, to);
      CHECK((!fits || may));
      CHECK((!surely || fits));
      sure += surely ? 1 : 0;
      excluded += may ? 0 : 1;
    }
  }
  CHECK(sure > 1000);  // Both shortcuts are taken at all.
  CHECK(excluded > 1000);
}
