// SPDX-License-Identifier: Apache-2.0
#include "tests/reliability/durability/hammer.h"

#include <doctest/doctest.h>

#include "catalog/blob_store.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf::test;

namespace {

/// A moment with a program of which a shell script makes something else.
HammerReport shortRun(const TempFolder& folder, const std::string& script) {
  HammerOptions options;
  options.program = folder / "holdshelf";
  holdshelf::writeFileDurably(options.program, "#!/bin/sh\n" + script);
  std::filesystem::permissions(options.program, std::filesystem::perms::owner_all);
  options.mesh = HOLDSHELF_SOURCE_DIR "/testdata/meshes/lever.stl";
  options.seconds = 0.2;
  return hammerLibrary(options);
}

}  // namespace

TEST_CASE(
    "concurrency: eight clients through server and command line are served one after another") {
  HammerOptions options;
  options.program = HOLDSHELF_PROGRAM;
  options.mesh = HOLDSHELF_SOURCE_DIR "/testdata/meshes/lever.stl";
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
  options.seconds = 40;  // So that each kind of work gets done at their pace, too.
#else
  options.seconds = 6;
#endif
  options.holds = 3;
  const auto reads = [](const HammerReport& report) {
    return report.reads.ms.size() + report.reads_during_intake.ms.size();
  };
  options.enough = [&](const HammerReport& so_far) {
    return so_far.operations.size() == 10 && so_far.refused > 0 && reads(so_far) > 20;
  };
  options.longest_seconds = 240;
  const HammerReport report = hammerLibrary(options);
  for (const std::string& fault : report.faults) FAIL_CHECK(fault);
  CHECK(report.unanswered == 0);
  CHECK(report.operations.size() == 10);  // Five kinds by two ways.
  CHECK(report.refused > 0);              // Somebody else was first, at least once.
  CHECK(report.taken_in > 0);
  CHECK(reads(report) > 20);
}

TEST_CASE("concurrency: a server that does not end well is a fault") {
  const TempFolder folder;
  // As ThreadSanitizer ends a program that it has something to report of.
  const HammerReport report =
      shortRun(folder, "[ \"$1\" = serve ] || exec " HOLDSHELF_PROGRAM
                       " \"$@\"\ntrap 'kill $server' TERM\n" HOLDSHELF_PROGRAM
                       " \"$@\" &\nserver=$!\nwait $server\nwait $server\nexit 66\n");
  REQUIRE(report.faults.size() == 1);
  CHECK(report.faults[0] == "the server ended with 66");
}

TEST_CASE("concurrency: an intake that ends well and leaves no hold is a fault") {
  const TempFolder folder;
  const HammerReport report =
      shortRun(folder, "[ \"$1\" = import ] && exit 0\nexec " HOLDSHELF_PROGRAM " \"$@\"\n");
  CHECK(report.taken_in >= 1);
  REQUIRE(report.faults.size() >= 2);
  CHECK(report.faults[0] == "the hold taken-1 is there with 0 scans");
  CHECK(report.faults.back().starts_with("there are 6 holds, not "));
}
