// SPDX-License-Identifier: Apache-2.0
#include <doctest/doctest.h>

#include "tests/reliability/durability/crash_harness.h"

using namespace holdshelf::test;

TEST_CASE("crash: killed at random moments, every acknowledged write is there and none is half") {
  const CrashReport report = crashLibrary(HOLDSHELF_CRASH_WORKER, 28, 20261126);
  for (const std::string& fault : report.faults) FAIL_CHECK(fault);
  CHECK(report.acknowledged > 20);
  CHECK(report.kills.size() == 7);
  CHECK(report.answers.size() == 7);
  for (const auto& [work, answers] : report.answers) {
    CAPTURE(work);
    CHECK(answers > 0);
  }
  CHECK(report.photos > 0);
  // Where exactly each kill comes is the machine's affair; crash_bench says it.
  const auto killed = [&](const std::vector<std::string>& phases) {
    int kills = 0;
    for (const std::string& phase : phases)
      if (const auto at = report.phases.find(phase); at != report.phases.end()) kills += at->second;
    return kills;
  };
  CHECK(killed({"merge: planning", "merge: copying", "merge: committing"}) > 0);
  CHECK(killed({"backup: snapshot", "backup: copying", "backup: swapping", "backup: verifying"}) >
        0);
  for (const auto& [phase, kills] : report.phases) MESSAGE(phase << " " << kills);
}
