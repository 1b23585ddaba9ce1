// SPDX-License-Identifier: Apache-2.0
#include "tests/reliability/durability/hammer.h"

#include <doctest/doctest.h>

#include "catalog/blob_store.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf::test;

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
  CHECK(reads(report) > 20);
}

TEST_CASE("concurrency: a server that does not end well is a fault") {
  const TempFolder folder;
  HammerOptions options;
  options.program = folder / "holdshelf";
  // As ThreadSanitizer ends a program that it has something to report of.
  holdshelf::writeFileDurably(options.program,
                              "#!/bin/sh\n[ \"$1\" = serve ] || exec " HOLDSHELF_PROGRAM
                              " \"$@\"\ntrap 'kill $server' TERM\n" HOLDSHELF_PROGRAM
                              " \"$@\" &\nserver=$!\nwait $server\nwait $server\nexit 66\n");
  std::filesystem::permissions(options.program, std::filesystem::perms::owner_all);
  options.mesh = HOLDSHELF_SOURCE_DIR "/testdata/meshes/lever.stl";
  options.seconds = 0.2;
  const HammerReport report = hammerLibrary(options);
  REQUIRE(report.faults.size() == 1);
  CHECK(report.faults[0] == "the server ended with 66");
}
