// SPDX-License-Identifier: Apache-2.0
// What a killed worker left; the queue itself: tests/postgres/queue_test.cpp.
#include <doctest/doctest.h>

#include <chrono>
#include <fstream>

#include "catalog/library.h"
#include "tests/catalog/run_program.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;
namespace fs = std::filesystem;

TEST_CASE("work: photos that a killed worker left are swept up by the next one") {
  TempFolder folder;
  (void)Library::openOrCreate(folder / "l");
  const fs::path scratch = folder / "scratch";
  const fs::path left = scratch / "holdshelf-work.4711.part",
                 in_work = scratch / "holdshelf-work.4712.part";
  for (const fs::path& worker : {left, in_work}) {
    fs::create_directories(worker / "capture-1-1");
    std::ofstream(worker / "capture-1-1" / "photo-01.jpg") << "photo";
  }
  const auto then = fs::file_time_type::clock::now() - std::chrono::hours(25);
  for (const auto& entry : fs::recursive_directory_iterator(left))
    fs::last_write_time(entry.path(), then);
  fs::last_write_time(left, then);
  const ProgramRun run =
      runProgram({"work", "-l", (folder / "l").string(), "--scratch", scratch.string()});
  CHECK(run.status == 1);  // There is no queue in a folder.
  CHECK(isOneSentence(run.err));
  CHECK_FALSE(fs::exists(left));
  CHECK(fs::exists(in_work / "capture-1-1" / "photo-01.jpg"));
  CHECK(std::distance(fs::directory_iterator(scratch), {}) == 1);  // Nor is its own left.
}
