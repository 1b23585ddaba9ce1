// SPDX-License-Identifier: Apache-2.0
#include "catalog/lip_index.h"

#include <doctest/doctest.h>

#include <random>

#include "catalog/lip_probe.h"
#include "mesh/bad_input.h"

using namespace holdshelf;

namespace {

/// Lips of numbers drawn from the seed; a tenth of the holds has none.
std::vector<std::string> randomLips(std::size_t holds, unsigned seed) {
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> uniform(0, 1);
  std::vector<std::string> packed;
  for (std::size_t hold = 0; hold < holds; ++hold) {
    std::vector<LipRun> runs;
    const std::size_t count = hold % 10 == 9 ? 0 : 1 + random() % 6;
    for (std::size_t i = 0; i < count; ++i) {
      const double radius_mm = 1 + 15 * uniform(random), incut_deg = -40 + 70 * uniform(random);
      const SectionPath path = lipOfNumbers(radius_mm, incut_deg, 26 + 15 * uniform(random));
      LipRun& run = runs.emplace_back();
      run.first_step = static_cast<int>(12 * i);
      run.steps = 3;
      run.curve = lipCurveAt(path, path[45]);
    }
    packed.push_back(count == 0 ? "" : packLips(runs));
  }
  return packed;
}

void checkSame(const std::vector<LipFound>& found, const std::vector<LipFound>& tried) {
  REQUIRE(found.size() == tried.size());
  for (std::size_t i = 0; i < found.size(); ++i) {
    CAPTURE(i);
    CHECK(found[i].gap_mm == tried[i].gap_mm);
    CHECK(found[i].hold == tried[i].hold);
  }
}

}  // namespace

TEST_CASE("lip index: the tree finds what trying every lip finds") {
  LipIndex index;
  for (const std::string& packed : randomLips(3000, 5)) index.add(packed);
  index.build();
  CHECK(index.holds() == 3000);
  std::mt19937 random(6);
  std::uniform_real_distribution<double> uniform(0, 1);
  for (int trial = 0; trial < 24; ++trial) {
    CAPTURE(trial);
    SectionPath path = lipOfNumbers(1 + 15 * uniform(random), -40 + 70 * uniform(random), 40);
    if (trial % 3 == 1) path.pop_back();                              // Ends at the root.
    if (trial % 3 == 2) path.erase(path.begin(), path.begin() + 20);  // Begins in it.
    const LipProbe probe = probeDrawn(path);
    checkSame(index.nearest(probe, 10), index.nearestByTrying(probe, 10));
    checkSame(index.nearest(probe, 0, 1.5), index.nearestByTrying(probe, 0, 1.5));
    const auto accept = [](std::uint32_t hold, const LipRun& run) {
      return hold % 7 == 0 && run.meets(60, 70);
    };
    checkSame(index.nearest(probe, 10, 1e9, accept), index.nearestByTrying(probe, 10, 1e9, accept));
  }
}

TEST_CASE("lip index: a hold's own lip is the nearest to itself, wherever it is stored") {
  LipIndex index;
  for (const std::string& packed : randomLips(500, 7)) index.add(packed);
  index.build();
  for (const std::size_t hold : {0U, 123U, 498U}) {
    CAPTURE(hold);
    const std::vector<LipRun> runs = index.lipsOf(hold);
    REQUIRE_FALSE(runs.empty());
    const auto found = index.nearest(probeLike(runs.back().curve), 1);
    REQUIRE(found.size() == 1);
    CHECK(found[0].hold == hold);
    CHECK(found[0].gap_mm < 1e-5);
  }
  CHECK(index.lipsOf(499).empty());
}

TEST_CASE(
    "lip index: lips that were replaced or came later are found as in an index made of them") {
  std::vector<std::string> now = randomLips(1500, 8);
  LipIndex index;
  for (const std::string& packed : now) index.add(packed);
  index.build();
  std::mt19937 random(9);
  const std::vector<std::string> others = randomLips(9000, 10);
  const LipProbe probe = probeDrawn(lipOfNumbers(4, 5, 40));
  // Far more than are kept beside the tree (20 000 curves), and half of the holds several times.
  for (std::size_t change = 0; change < others.size(); ++change) {
    if (change % 7 == 0) {
      index.add(others[change]);
      now.push_back(others[change]);
    } else {
      const std::size_t hold = random() % now.size();
      index.replace(hold, others[change]);
      now[hold] = others[change];
    }
    if (change % 900 != 5) continue;
    CAPTURE(change);
    LipIndex fresh;
    for (const std::string& packed : now) fresh.add(packed);
    fresh.build();
    checkSame(index.nearest(probe, 10), fresh.nearest(probe, 10));
    checkSame(index.nearest(probe, 0, 1.0), fresh.nearestByTrying(probe, 0, 1.0));
    checkSame(index.nearestByTrying(probe, 10), fresh.nearestByTrying(probe, 10));
  }
  for (std::size_t hold = 0; hold < now.size(); ++hold)
    REQUIRE(index.packedOf(hold) == (now[hold].empty() ? "" : now[hold].substr(1)));
}

TEST_CASE("lip index: nothing to find, and damaged bytes") {
  LipIndex index;
  index.build();
  const LipProbe probe = probeDrawn(lipOfNumbers(5, 10));
  CHECK(index.nearest(probe, 10).empty());
  index.add("");
  index.build();
  CHECK(index.nearest(probe, 10).empty());
  CHECK_THROWS_AS(index.add("\x02short"), BadInput);
}
