// SPDX-License-Identifier: Apache-2.0
// Merging on a disk that goes wrong: all of the other library comes in, or nothing.
#include <doctest/doctest.h>

#include <string>

#include "catalog/library_check.h"
#include "catalog/library_merge.h"
#include "tests/catalog/temp_folder.h"
#include "tests/reliability/durability/each_step.h"

using namespace holdshelf;
using namespace holdshelf::test;
namespace fs = std::filesystem;

namespace {

void addHolds(const fs::path& at, const std::string& name, int count) {
  Library library = Library::openOrCreate(at);
  for (int i = 0; i < count; ++i) {
    Event made, scanned;
    made.mutable_created()->set_name(name);
    scanned.mutable_scanned()->set_mesh_blob(
        library.blobs().put(name + std::to_string(i) + std::string(3000, 'm')));
    library.commit({made, scanned});
  }
}

void mergeThem(const TempFolder& folder) {
  Library library = Library::open(folder / "l");
  const Library other = Library::open(folder / "other");
  (void)mergeInto(library, mergeSourceOf(other), false, {});
}

std::size_t sizeOf(const TempFolder& folder) {
  const CheckReport report = checkLibrary(folder / "l", false, {});
  CAPTURE(report.ShortDebugString());
  CHECK(report.faults().empty());
  return static_cast<std::size_t>(report.holds());
}

void mergeAtEach(long stride) {
  for (const DiskFault fault :
       {DiskFault::PowerCut, DiskFault::Full, DiskFault::WriteError, DiskFault::SyncError}) {
    const long steps = failAtEachStep(fault, stride,
                                      {[](const TempFolder& folder) {
                                         addHolds(folder / "l", "here", 2);
                                         addHolds(folder / "other", "there", 3);
                                       },
                                       mergeThem,
                                       [](const TempFolder& folder, bool said) {
                                         const std::size_t size = sizeOf(folder);
                                         CHECK((size == 5 || (size == 2 && !said)));
                                         mergeThem(folder);
                                         CHECK(sizeOf(folder) == 5);
                                       }});
    CHECK(steps > 10);
  }
}

}  // namespace

TEST_CASE("merge: on a disk that goes wrong all of the other library comes in, or nothing") {
  mergeAtEach(4);
}

TEST_CASE("merge: the same at each single step" * doctest::skip()) { mergeAtEach(1); }
