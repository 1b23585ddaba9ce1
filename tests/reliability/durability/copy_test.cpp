// SPDX-License-Identifier: Apache-2.0
// Copies, backups, what is restored and what is exported: on the disk when they are said to be, and
// what a killed one left is swept up.
#include <doctest/doctest.h>

#include <array>
#include <chrono>
#include <fstream>
#include <functional>
#include <string>

#include "catalog/library_backup.h"
#include "catalog/library_check.h"
#include "catalog/library_copy.h"
#include "catalog/library_exchange.h"
#include "catalog/library_merge.h"
#include "catalog/library_transfer.h"
#include "mesh/bad_input.h"
#include "tests/catalog/temp_folder.h"
#include "tests/reliability/durability/faulty_disk.h"

using namespace holdshelf;
using namespace holdshelf::test;
namespace fs = std::filesystem;

namespace {

struct Way {
  const char* name;
  std::function<void(const TempFolder& folder, const fs::path& to)> copy;
};

const std::array<Way, 4> kWays = {
    Way{"copy", [](const TempFolder& folder,
                   const fs::path& to) { copyLibrary(Library::open(folder / "l"), to, {}); }},
    Way{"backup",
        [](const TempFolder& folder, const fs::path& to) {
          (void)backupLibrary(Library::open(folder / "l"), to, {});
        }},
    Way{"restore", [](const TempFolder& folder,
                      const fs::path& to) { (void)restoreBackup(folder / "l", to, {}); }},
    Way{"export", [](const TempFolder& folder, const fs::path& to) {
          exportLibrary(Library::open(folder / "l"), to, {});
        }}};

/// Ways to bring all of a library to a place where some of it may be already.
const std::array<Way, 3> kWaysAgain = {
    kWays[1],
    Way{"merge",
        [](const TempFolder& folder, const fs::path& to) {
          const Library library = Library::open(folder / "l");
          Library into = Library::openOrCreate(to);
          (void)mergeInto(into, mergeSourceOf(library), false, {});
        }},
    Way{"transfer", [](const TempFolder& folder, const fs::path& to) {
          Library there = Library::openOrCreate(to);
          (void)transferLibrary(Library::open(folder / "l"), there, {});
        }}};

std::string meshOf(int hold) { return std::to_string(hold) + std::string(3000, 'm'); }

void makeLibrary(const fs::path& at) {
  Library library = Library::openOrCreate(at);
  for (int i = 1; i <= 3; ++i) {
    Event made, scanned;
    made.mutable_created()->set_name("hold");
    scanned.mutable_scanned()->set_mesh_blob(library.blobs().put(meshOf(i)));
    library.commit({made, scanned});
  }
  library.checkpoint();
}

void cutPower(FaultyDisk& disk, const fs::path& folder, unsigned seed) {
  disk.arm(DiskFault::PowerCut, 1, seed);
  CHECK_THROWS_AS(writeFileDurably(folder / "x", "x"), std::system_error);
  disk.restart();
}

}  // namespace

TEST_CASE("copies: once said to be made, a power cut takes nothing of them") {
  for (const Way& way : kWays)
    for (unsigned seed = 1; seed <= 6; ++seed) {
      CAPTURE(way.name);
      CAPTURE(seed);
      TempFolder folder;
      makeLibrary(folder / "l");
      FaultyDisk disk(folder.path());
      const fs::path to = folder / "new" / "copy";
      way.copy(folder, to);
      const auto before = filesIn(to);
      cutPower(disk, folder.path(), seed);
      REQUIRE(fs::exists(to));
      CHECK(filesIn(to) == before);
      if (Library::isIn(to)) CHECK(checkLibrary(to, false, {}).faults().empty());
    }
}

TEST_CASE("copies: what a killed one left goes with the next to the same place") {
  for (const Way& way : kWays) {
    CAPTURE(way.name);
    TempFolder folder;
    makeLibrary(folder / "l");
    const fs::path to = folder / "copy";
    const bool inside = std::string(way.name) == "backup";
    const fs::path left = inside ? to / "holdshelf.sqlite" : to;
    const fs::path old = left.string() + ".4711.part", in_work = left.string() + ".4712.part",
                   of_older = left.string() + ".part-4713";
    for (const fs::path& part : {old, in_work}) {
      fs::create_directories(part);
      std::ofstream(part / "holdshelf.sqlite") << "half";
    }
    std::ofstream(of_older) << "half";
    const auto then = fs::file_time_type::clock::now() - std::chrono::hours(25);
    for (const fs::path& path : {old / "holdshelf.sqlite", old, of_older})
      fs::last_write_time(path, then);
    way.copy(folder, to);
    CHECK_FALSE(fs::exists(old));
    CHECK_FALSE(fs::exists(of_older));
    CHECK(fs::exists(in_work));
  }
}

TEST_CASE("copies: begun again after a flush that failed, a power cut takes nothing of them") {
  for (const Way& way : kWaysAgain) {
    bool happened = true;
    long at = 1;
    for (; happened; ++at) {
      CAPTURE(way.name);
      CAPTURE(at);
      TempFolder folder;
      makeLibrary(folder / "l");
      fs::create_directory(folder / "to");
      FaultyDisk disk(folder / "to");
      disk.arm(DiskFault::SyncError, at, 1);
      try {
        way.copy(folder, folder / "to");
      } catch (const BadInput&) {
      }
      happened = disk.happened();
      disk.restart();
      way.copy(folder, folder / "to");
      cutPower(disk, folder / "to", static_cast<unsigned>(at));
      const CheckReport report = checkLibrary(folder / "to", false, {});
      CAPTURE(report.ShortDebugString());
      CHECK(report.faults().empty());
      CHECK(report.holds() == 3);
    }
    CHECK(at > 10);
  }
}

TEST_CASE("copies: made again, a file that was damaged there is whole again") {
  for (const Way& way : kWaysAgain) {
    CAPTURE(way.name);
    TempFolder folder;
    makeLibrary(folder / "l");
    BlobStore there(folder / "to" / "blobs");
    const std::string name = there.put(meshOf(2));
    const bool merged = std::string(way.name) == "merge";
    if (!merged) way.copy(folder, folder / "to");  // What is in both is not merged again.
    std::ofstream(there.file(name)) << "damaged";
    way.copy(folder, folder / "to");
    CHECK(there.get(name) == meshOf(2));
    CHECK(checkLibrary(folder / "to", false, {}).faults().empty());
  }
}
