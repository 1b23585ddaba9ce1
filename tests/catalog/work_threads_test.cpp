// SPDX-License-Identifier: Apache-2.0
#include "catalog/work_threads.h"

#include <doctest/doctest.h>

#include <atomic>
#include <numeric>
#include <set>
#include <stdexcept>

#include "tests/catalog/waiting.h"

using namespace holdshelf;
using namespace holdshelf::test;

TEST_CASE("work threads: what is asked for one after another is done by the same thread") {
  WorkThreads threads(8);
  std::set<std::thread::id> seen;
  int sum = 0;
  for (int i = 1; i <= 100; ++i)
    sum += threads.run([&] {
      seen.insert(std::this_thread::get_id());
      return i;
    });
  CHECK(sum == 5050);
  CHECK(seen.size() == 1);
  CHECK(seen.count(std::this_thread::get_id()) == 0);
  CHECK(threads.started() == 1);
}

TEST_CASE("work threads: as many at once as there may be, the others after them") {
  constexpr int kAskers = 12;
  WorkThreads threads(3);
  std::atomic<int> at_work = 0, most = 0;
  std::atomic<bool> go = false;
  std::vector<int> answers(kAskers);
  std::vector<std::thread> askers;
  for (int i = 0; i < kAskers; ++i)
    askers.emplace_back([&, i] {
      answers[std::size_t(i)] = threads.run([&] {
        const int now = ++at_work;
        for (int seen = most; seen < now && !most.compare_exchange_weak(seen, now);) {
        }
        while (!go) std::this_thread::sleep_for(std::chrono::milliseconds(1));
        --at_work;
        return i * i;
      });
    });
  CHECK(comesTrue([&] { return at_work == 3; }));
  go = true;
  for (std::thread& asker : askers) asker.join();
  CHECK(most == 3);
  CHECK(threads.started() == 3);
  for (int i = 0; i < kAskers; ++i) CHECK(answers[std::size_t(i)] == i * i);
}

TEST_CASE(
    "work threads: what the work throws reaches who handed it over, and the thread works on") {
  WorkThreads threads(1);
  CHECK_THROWS_WITH_AS(threads.run([]() -> int { throw std::runtime_error("not today"); }),
                       "not today", std::runtime_error);
  CHECK(threads.run([] { return 7; }) == 7);
  CHECK(threads.started() == 1);
}
