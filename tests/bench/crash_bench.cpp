// SPDX-License-Identifier: Apache-2.0
// crash_bench [KILLS] [SEED] [WORKER]: kills a process that works on a library that often, at
// random moments, and says where it was killed and what was lost. Ends with 1 where something was,
// and from 300 kills on where a work or one of its phases was never met. The table in
// tests/bench/README.md is its output.
#include <chrono>
#include <cstdio>
#include <cstdlib>

#include "tests/reliability/durability/crash_harness.h"

namespace {

constexpr int kEnoughKills = 300;  // 40 a work, 8 or more a phase.

}  // namespace

int main(int argc, char** argv) {
  const int kills = argc > 1 ? std::atoi(argv[1]) : 500;
  const unsigned seed = argc > 2 ? static_cast<unsigned>(std::atoi(argv[2])) : 1;
  const char* const worker = argc > 3 ? argv[3] : HOLDSHELF_CRASH_WORKER;
  const auto start = std::chrono::steady_clock::now();
  const auto report = holdshelf::test::crashLibrary(worker, kills, seed);
  const double took_s =
      std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  int all = 0;
  for (const auto& [work, count] : report.kills) {
    std::printf("| %s | %d kills | %ld answers |\n", work.c_str(), count, report.answers.at(work));
    all += count;
  }
  for (const auto& [phase, count] : report.phases)
    std::printf("| while %s | %d |\n", phase.c_str(), count);
  std::printf(
      "%d kills, %d of them while starting; %ld events and pieces of %ld photos acknowledged, %ld "
      "more events stored; %zu faults; %.0f s\n",
      all, report.during_start, report.acknowledged, report.photos, report.unacknowledged,
      report.faults.size(), took_s);
  for (const std::string& fault : report.faults) std::printf("%s\n", fault.c_str());
  // By chance alone a short run leaves some out.
  const auto untried = kills >= kEnoughKills ? report.untried() : std::vector<std::string>();
  for (const std::string& what : untried) std::printf("%s\n", what.c_str());
  return report.faults.empty() && untried.empty() ? 0 : 1;
}
