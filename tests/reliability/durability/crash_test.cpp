// SPDX-License-Identifier: Apache-2.0
#include <doctest/doctest.h>

#include "tests/reliability/durability/crash_harness.h"

using namespace holdshelf::test;

TEST_CASE("crash: killed at random moments, every acknowledged write is there and none is half") {
  const CrashReport report = crashLibrary(HOLDSHELF_CRASH_WORKER, 28, 20261126);
  for (const std::string& fault : report.faults) FAIL_CHECK(fault);
  CHECK(report.acknowledged > 20);
  CHECK(report.kills.size() == 7);
}
