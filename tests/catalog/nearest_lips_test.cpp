// SPDX-License-Identifier: Apache-2.0
#include "catalog/nearest_lips.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <map>
#include <random>
#include <thread>

using namespace holdshelf;

namespace {

LipFound found(std::uint32_t hold, double gap_mm, std::size_t placement = 0) {
  return {hold, {}, placement, gap_mm};
}

}  // namespace

TEST_CASE("nearest lips: the best of each hold, of the best holds, as sorting all gives them") {
  std::mt19937 random(20310614);
  for (const std::size_t most :
       {std::size_t{0}, std::size_t{3}, std::size_t{40}, std::size_t{300}}) {
    CAPTURE(most);
    NearestLips nearest(most, 1e9);
    std::map<std::uint32_t, double> best;
    for (int i = 0; i < 2000; ++i) {
      const auto hold = static_cast<std::uint32_t>(random() % 400);
      const double gap_mm = 0.01 * static_cast<double>(random() % 500);
      if (const auto [at, added] = best.try_emplace(hold, gap_mm); !added)
        at->second = std::min(at->second, gap_mm);
      if (gap_mm <= nearest.limit_mm()) nearest.offer(found(hold, gap_mm));
    }
    std::vector<std::pair<double, std::uint32_t>> wanted;
    for (const auto& [hold, gap_mm] : best) wanted.emplace_back(gap_mm, hold);
    std::sort(wanted.begin(), wanted.end());
    if (most > 0) wanted.resize(std::min(most, wanted.size()));
    const auto kept = nearest.sorted();
    REQUIRE(kept.size() == wanted.size());
    for (std::size_t i = 0; i < kept.size(); ++i) {
      CHECK(kept[i].gap_mm == wanted[i].first);
      CHECK(kept[i].hold == wanted[i].second);
    }
  }
}

TEST_CASE("nearest lips: the limit falls to the worst that is kept, once there are enough") {
  NearestLips nearest(2, 5);
  CHECK(nearest.limit_mm() == 5);
  nearest.offer(found(7, 3));
  CHECK(nearest.limit_mm() == 5);
  nearest.offer(found(7, 1, 4));  // The same hold, nearer in another placement.
  CHECK(nearest.limit_mm() == 5);
  nearest.offer(found(8, 2));
  CHECK(nearest.limit_mm() == doctest::Approx(2));
  CHECK(nearest.limit_mm() >= 2);  // As far as the kept one is offered itself.
  nearest.offer(found(9, 0.5));
  CHECK(nearest.limit_mm() == doctest::Approx(1));
  const auto kept = nearest.sorted();
  REQUIRE(kept.size() == 2);
  CHECK(kept[0].hold == 9);
  CHECK(kept[1].hold == 7);
  CHECK(kept[1].placement == 4);
}

TEST_CASE("nearest lips: offered to from several threads") {
  NearestLips nearest(10, 1e9);
  std::vector<std::thread> threads;
  for (unsigned t = 0; t < 4; ++t)
    threads.emplace_back([&nearest, t] {
      for (std::uint32_t i = 0; i < 1000; ++i) nearest.offer(found(4 * i + t, 4.0 * i + t));
    });
  for (auto& thread : threads) thread.join();
  const auto kept = nearest.sorted();
  REQUIRE(kept.size() == 10);
  for (std::uint32_t i = 0; i < 10; ++i) CHECK(kept[i].hold == i);
}
