// SPDX-License-Identifier: Apache-2.0
// Libraries of every version there has been open and are brought up to date; newer ones are left
// exactly as they are.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <map>

#include "catalog/climbs.h"
#include "catalog/library_check.h"
#include "mesh/bad_input.h"
#include "tests/catalog/run_program.h"
#include "tests/catalog/temp_folder.h"
#include "tests/reliability/durability/each_step.h"

using namespace holdshelf;
using namespace holdshelf::test;
namespace fs = std::filesystem;

namespace {

std::string schemaOf(const fs::path& folder) {
  const sqlite::Database database(folder / "holdshelf.sqlite", sqlite::Database::Access::ReadOnly);
  sqlite::Statement made(database, "SELECT sql FROM sqlite_master WHERE sql <> '' ORDER BY name");
  std::string schema;
  while (made.step()) schema += made.text(0) + "\n";
  return schema;
}

fs::path keptOf(int version) {
  return fs::path(HOLDSHELF_SOURCE_DIR "/testdata/libraries") / ("v" + std::to_string(version));
}

/// Brings a library of the first version up to date on a disk that goes wrong at each stride-th
/// step.
void migrateAtEach(long stride) {
  TempFolder made;
  { (void)Library::openOrCreate(made / "new"); }
  const std::string newest = schemaOf(made / "new");
  for (const DiskFault fault :
       {DiskFault::PowerCut, DiskFault::Full, DiskFault::WriteError, DiskFault::SyncError}) {
    const long steps =
        failAtEachStep(fault, stride,
                       {[](const TempFolder& folder) {
                          fs::copy(keptOf(1), folder / "l", fs::copy_options::recursive);
                        },
                        [](const TempFolder& folder) { (void)Library::open(folder / "l"); },
                        [&](const TempFolder& folder, bool) {
                          {
                            const Library library = Library::open(folder / "l");
                            CHECK(library.size() == 2);
                            CHECK(library.hold("H-0001").name() == "Shingle chip");
                            CHECK(climbOf(library, "C-0001").holds(0).placement().row() == 2);
                          }
                          CHECK(schemaOf(folder / "l") == newest);
                          CHECK(checkLibrary(folder / "l", false, {}).faults().empty());
                        }});
    CHECK(steps > 10);
  }
}

}  // namespace

TEST_CASE("schema: a library of each version before opens whole and is as a new one from then on") {
  TempFolder folder;
  { (void)Library::openOrCreate(folder / "new"); }
  const std::string newest = schemaOf(folder / "new");
  for (int version = 1; version < Library::schemaVersion(); ++version) {
    CAPTURE(version);
    const fs::path kept = keptOf(version);
    REQUIRE(fs::exists(kept));  // A new version keeps a library of the one before.
    const fs::path copy = folder / ("v" + std::to_string(version));
    fs::copy(kept, copy, fs::copy_options::recursive);
    {
      const Library library = Library::open(copy);
      CHECK(library.size() == 2);
      CHECK(library.hold("H-0001").name() == "Shingle chip");
      CHECK(library.hold("H-0001").scans_size() == 1);
      CHECK(library.hold("H-0002").split_from() == "H-0001");
      CHECK(climbOf(library, "C-0001").holds(0).placement().row() == 2);
    }
    CHECK(schemaOf(copy) == newest);
    CHECK(checkLibrary(copy, false, {}).faults().empty());
  }
}

TEST_CASE("schema: brought up to date on a disk that goes wrong, nothing of a library is lost") {
  migrateAtEach(9);
}

TEST_CASE("schema: the same at each single step" * doctest::skip()) { migrateAtEach(1); }

TEST_CASE("schema: a newer library is refused in a sentence, and not a byte of it is touched") {
  TempFolder folder;
  { (void)Library::openOrCreate(folder / "l"); }
  {
    sqlite::Database database(folder / "l" / "holdshelf.sqlite",
                              sqlite::Database::Access::ReadWrite);
    database.execute("PRAGMA journal_mode = DELETE; CREATE TABLE later(x); PRAGMA user_version = " +
                     std::to_string(Library::schemaVersion() + 1));
  }
  const auto before = filesIn(folder / "l");
  CHECK_THROWS_AS(Library::open(folder / "l"), NewerLibrary);
  CHECK_THROWS_AS(checkLibrary(folder / "l", true, {}), NewerLibrary);
  const std::string l = (folder / "l").string();
  for (const std::vector<std::string>& command : std::vector<std::vector<std::string>>{
           {"find", "-l", l}, {"check", "--repair", "-l", l}, {"crate", "list", "-l", l}}) {
    const ProgramRun run = runProgram(command);
    CHECK(run.status == 1);
    CHECK(isOneSentence(run.err));
    CHECK(run.err.find("newer program") != std::string::npos);
  }
  CHECK(filesIn(folder / "l") == before);
}
