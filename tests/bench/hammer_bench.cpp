// SPDX-License-Identifier: Apache-2.0
// hammer_bench PROGRAM MESH [SECONDS] [SEED]: eight clients on one library, through the server and
// the command line together; says what they did, what was lost and how long a reader waited. Ends
// with 1 where something was lost, or a reader waited longer than 200 ms for an intake.
#include <cstdio>
#include <cstdlib>

#include "tests/reliability/durability/hammer.h"

namespace {

constexpr double kLongestWait_ms = 200;  // Through the server; the promise is of a machine at rest.

void print(const char* name, const holdshelf::test::Waits& waits) {
  std::printf("| %s | %zu | %.1f | %.1f | %.1f |\n", name, waits.ms.size(), waits.quantile(0.5),
              waits.quantile(0.99), waits.quantile(1));
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 3) return 2;
  holdshelf::test::HammerOptions options;
  options.program = argv[1];
  options.mesh = argv[2];
  options.seconds = argc > 3 ? std::atof(argv[3]) : 600;
  options.seed = argc > 4 ? static_cast<unsigned>(std::atoi(argv[4])) : 1;
  const auto report = holdshelf::test::hammerLibrary(options);
  long all = 0;
  for (const auto& [name, count] : report.operations) {
    std::printf("| %s | %ld |\n", name.c_str(), count);
    all += count;
  }
  std::printf(
      "%ld operations in %.0f s, %ld refused, %ld unanswered; %ld notes; %ld holds taken in "
      "meanwhile; %zu faults\n",
      all, options.seconds, report.refused, report.unanswered, report.notes, report.taken_in,
      report.faults.size());
  std::printf("| a reader's wait, ms | reads | half within | 99 %% within | longest |\n");
  print("no intake going on", report.reads);
  print("an intake going on", report.reads_during_intake);
  print("command line, no intake going on", report.shown);
  print("command line, an intake going on", report.shown_during_intake);
  for (const std::string& fault : report.faults) std::printf("%s\n", fault.c_str());
  const bool too_long = report.reads_during_intake.quantile(1) > kLongestWait_ms;
  if (too_long)
    std::printf("A reader waited longer for an intake than the %.0f ms that are promised.\n",
                kLongestWait_ms);
  return report.faults.empty() && report.unanswered == 0 && !too_long ? 0 : 1;
}
