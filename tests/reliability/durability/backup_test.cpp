// SPDX-License-Identifier: Apache-2.0
#include <doctest/doctest.h>

#include <atomic>
#include <filesystem>
#include <fstream>
#include <map>
#include <optional>
#include <thread>

#include "catalog/library_backup.h"
#include "catalog/library_check.h"
#include "mesh/bad_input.h"
#include "tests/catalog/run_program.h"
#include "tests/catalog/temp_folder.h"
#include "tests/reliability/durability/each_step.h"
#include "tests/reliability/durability/faulty_disk.h"

using namespace holdshelf;
using namespace holdshelf::test;
namespace fs = std::filesystem;

namespace {

void add(Library& library, const std::string& id) {
  Event made, scanned;
  made.set_hold(id);
  made.mutable_created()->set_name("hold " + id);
  scanned.set_hold(id);
  scanned.mutable_scanned()->set_id(id);
  scanned.mutable_scanned()->set_mesh_blob(library.blobs().put("mesh of " + id));
  library.commit({made, scanned});
}

void execute(const fs::path& library, const char* sql) {
  sqlite::Database database(library / "holdshelf.sqlite", sqlite::Database::Access::ReadWrite);
  database.execute(sql);
}

bool sameLibrary(const fs::path& a, const fs::path& b) {
  const Library one = Library::open(a), two = Library::open(b);
  std::string events_one, events_two;
  one.forEachEvent([&](const Event& event) { events_one += event.SerializeAsString(); });
  two.forEachEvent([&](const Event& event) { events_two += event.SerializeAsString(); });
  return events_one == events_two && one.size() == two.size();
}

}  // namespace

TEST_CASE("backup: kept up to date, restored, the same library each time") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  add(library, "H-0001");
  BackupReport report = backupLibrary(library, folder / "b", {});
  CHECK(report.faults().empty());
  CHECK(report.holds() == 1);
  CHECK(report.files() == 2);  // A mesh and a batch.
  CHECK(report.files_added() == 2);
  add(library, "H-0002");
  library.blobs().put("left by interrupted work");  // Nothing refers to it: not worth keeping.
  report = backupLibrary(library, folder / "b", {});
  CHECK(report.files() == 4);
  CHECK(report.files_added() == 2);
  CHECK(backupLibrary(library, folder / "b", {}).files_added() == 0);

  const auto before = filesIn(folder / "b");
  report = restoreBackup(folder / "b", folder / "r", {});
  CHECK(report.faults().empty());
  CHECK(report.holds() == 2);
  CHECK(filesIn(folder / "b") == before);  // Nothing of it was touched.
  CHECK(sameLibrary(folder / "l", folder / "r"));
  CHECK(checkLibrary(folder / "r", false, {}).faults().empty());
  CHECK_THROWS_AS(restoreBackup(folder / "b", folder / "r", {}), BadInput);
  CHECK_THROWS_AS(restoreBackup(folder / "none", folder / "n", {}), BadInput);
  CHECK_FALSE(fs::exists(folder / "n"));
}

TEST_CASE("backup: another library's, or one that knows more, is not overwritten") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  add(library, "H-0001");
  Library other = Library::openOrCreate(folder / "o");
  add(other, "H-0009");
  const auto before = filesIn(folder / "o" / "blobs");
  CHECK_THROWS_WITH_AS(backupLibrary(library, folder / "o", {}), doctest::Contains("no earlier"),
                       BadInput);
  CHECK(filesIn(folder / "o" / "blobs") == before);
  CHECK(other.has("H-0009"));
  CHECK_THROWS_AS(backupLibrary(library, folder / "l", {}), BadInput);
  (void)backupLibrary(library, folder / "b", {});
  {
    Library ahead = Library::open(folder / "b");
    add(ahead, "H-0002");
  }
  CHECK_THROWS_AS(backupLibrary(library, folder / "b", {}), BadInput);
  CHECK(Library::open(folder / "b").size() == 2);
}

TEST_CASE("backup: a log that was left beside the old one does not get into the new one") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  library.checkpoint();
  for (int i = 10; i < 20; ++i) add(library, "H-00" + std::to_string(i));
  // Copied as files while it is open: what was added is in the log.
  fs::copy(folder / "l", folder / "b", fs::copy_options::recursive);
  REQUIRE(fs::file_size(folder / "b" / "holdshelf.sqlite-wal") > 0);
  for (int i = 20; i < 40; ++i) add(library, "H-00" + std::to_string(i));
  const BackupReport report = backupLibrary(library, folder / "b", {});
  CHECK(report.faults().empty());
  CHECK(report.holds() == 30);
  CHECK(sameLibrary(folder / "l", folder / "b"));
}

TEST_CASE("backup: a damaged database never takes the place of a good backup") {
  TempFolder folder;
  {
    Library library = Library::openOrCreate(folder / "l");
    for (int i = 1; i <= 40; ++i) add(library, "H-00" + std::to_string(10 + i));
    (void)backupLibrary(library, folder / "b", {});
    library.checkpoint();
  }
  {
    std::fstream file(folder / "l" / "holdshelf.sqlite",
                      std::ios::in | std::ios::out | std::ios::binary);
    file.seekp(3 * 4096);
    file << std::string(4096, '\x55');
  }
  const auto before = filesIn(folder / "b");
  CHECK_THROWS_AS(backupLibrary(Library::open(folder / "l"), folder / "b", {}), BadInput);
  CHECK(filesIn(folder / "b") == before);
}

TEST_CASE("backup: what is lost in the library is named, the rest is taken, and it comes back") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  add(library, "H-0001");
  (void)backupLibrary(library, folder / "b", {});
  add(library, "H-0002");
  fs::remove(BlobStore(library.folder() / "blobs").file(sha256Hex("mesh of H-0001")));
  fs::remove(BlobStore(library.folder() / "blobs").file(sha256Hex("mesh of H-0002")));
  const BackupReport report = backupLibrary(library, folder / "b", {});
  REQUIRE(report.faults_size() == 1);  // The first one's is in the backup already.
  CHECK(report.faults(0).find("H-0002's mesh is lost") != std::string::npos);
  CHECK(report.holds() == 2);
  const CheckReport mended = checkLibrary(folder / "l", true, {}, folder / "b");
  CHECK(mended.mended_size() == 1);
  CHECK(library.blobs().get(sha256Hex("mesh of H-0001")) == "mesh of H-0001");
}

TEST_CASE("backup: on a disk that fills up or fails it is the old state, whichever step that is") {
  for (const DiskFault fault : {DiskFault::Full, DiskFault::WriteError, DiskFault::SyncError}) {
    bool happened = true;
    int refusals = 0;
    for (long at = 1; happened; at += 3) {
      CAPTURE(static_cast<int>(fault));
      CAPTURE(at);
      TempFolder folder;
      Library library = Library::openOrCreate(folder / "l");
      add(library, "H-0001");
      (void)backupLibrary(library, folder / "b", {});
      add(library, "H-0002");
      add(library, "H-0003");
      bool refused = false, whole = false;
      {
        FaultyDisk disk(folder / "b");
        disk.arm(fault, at, 1);
        try {
          (void)backupLibrary(library, folder / "b", {});
        } catch (const BadInput& error) {
          refused = true;
          whole = std::string(error.what()).find("is whole") != std::string::npos;
        }
        happened = disk.happened();
        disk.restart();
      }
      CHECK(refused == happened);
      refusals += refused && !whole ? 1 : 0;
      const CheckReport report = checkLibrary(folder / "b", false, {});
      CAPTURE(report.ShortDebugString());
      CHECK(report.faults().empty());
      CHECK(report.holds() == (refused && !whole ? 1 : 3));
      for (const auto& entry : fs::directory_iterator(folder / "b"))
        CHECK(entry.path().filename().string().find("part") == std::string::npos);
      CHECK(backupLibrary(library, folder / "b", {}).faults().empty());
      CHECK(checkLibrary(folder / "b", false, {}).holds() == 3);
    }
    CHECK(refusals > 5);
  }
}

namespace {

/// An older state that was copied as files while it was worked on: its last hold is in its log, and
/// no page of the others.
void leaveLog(Library& library, const fs::path& to) {
  for (int i = 0; i < 30; ++i) add(library, "H-1" + std::to_string(100 + i));
  library.checkpoint();
  add(library, "H-0001");
  fs::copy(library.folder(), to, fs::copy_options::recursive);
  REQUIRE(fs::file_size(to / "holdshelf.sqlite-wal") > 0);
}

/// Backs up to where the power goes at each stride-th step.
void cutAtEach(long stride, bool with_log) {
  std::optional<Library> library;
  int before = 0;
  const long steps = failAtEachStep(
      DiskFault::PowerCut, stride,
      {[&](const TempFolder& folder) {
         library.reset();
         library.emplace(Library::openOrCreate(folder / "l"));
         if (with_log) {
           leaveLog(*library, folder / "b");
         } else {
           add(*library, "H-0001");
           (void)backupLibrary(*library, folder / "b", {});
         }
         before = static_cast<int>(library->size());
         add(*library, "H-0002");
         add(*library, "H-0003");
       },
       [&](const TempFolder& folder) { (void)backupLibrary(*library, folder / "b", {}); },
       [&](const TempFolder& folder, bool said) {
         const CheckReport report = checkLibrary(folder / "b", false, {});
         CAPTURE(report.ShortDebugString());
         CHECK(report.faults().empty());
         CHECK((report.holds() == before + 2 || (report.holds() == before && !said)));
         CHECK(backupLibrary(*library, folder / "b", {}).faults().empty());
         CHECK(checkLibrary(folder / "b", false, {}).holds() == before + 2);
       },
       "b"});
  CHECK(steps > 20);
}

}  // namespace

TEST_CASE("backup: where the power is cut at any step, it is the old state or the new one") {
  cutAtEach(4, false);
  cutAtEach(4, true);
}

TEST_CASE("backup: the same at each single step" * doctest::skip()) {
  cutAtEach(1, false);
  cutAtEach(1, true);
}

TEST_CASE("backup: the log of the old one does not come back beside the new one") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  leaveLog(library, folder / "kept");
  for (int i = 2; i <= 7; ++i) add(library, "H-000" + std::to_string(i));
  for (unsigned seed = 1; seed <= 24; ++seed) {
    CAPTURE(seed);
    fs::remove_all(folder / "b");
    fs::copy(folder / "kept", folder / "b", fs::copy_options::recursive);
    FaultyDisk disk(folder / "b");
    disk.arm(DiskFault::None, 1, seed);
    // The old one's log is gone, and the new one about to be put there: the next flush never comes.
    CHECK_THROWS_AS(backupLibrary(library, folder / "b",
                                  [&](const std::string& stage, double) {
                                    if (stage == "taking its place")
                                      disk.arm(DiskFault::PowerCut, 1, seed);
                                    return true;
                                  }),
                    BadInput);
    CHECK(disk.happened());
    disk.restart();
    const CheckReport report = checkLibrary(folder / "b", false, {});
    CAPTURE(report.ShortDebugString());
    CHECK(report.faults().empty());
    CHECK((report.holds() == 31 || report.holds() == 37));
  }
}

TEST_CASE("backup: cut off among its files, it is the old state without a fault") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  add(library, "H-0001");
  (void)backupLibrary(library, folder / "b", {});
  for (int i = 2; i <= 6; ++i) add(library, "H-000" + std::to_string(i));
  for (int stop = 1; stop < 10; ++stop) {  // After so many of ten new files.
    CAPTURE(stop);
    int asked = 0;
    const auto stopping = [&](const std::string&, double) { return ++asked <= stop + 2; };
    CHECK_THROWS_AS(backupLibrary(library, folder / "b", stopping), Interrupted);
    const CheckReport report = checkLibrary(folder / "b", false, {});
    CAPTURE(report.ShortDebugString());
    CHECK(report.faults().empty());
    CHECK(report.holds() == 1);
  }
  CHECK(backupLibrary(library, folder / "b", {}).faults().empty());
  CHECK(checkLibrary(folder / "b", false, {}).holds() == 6);
}

TEST_CASE("backup: that one was cut off hides nothing once the old state was worked on") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  add(library, "H-0001");
  (void)backupLibrary(library, folder / "b", {});
  add(library, "H-0002");
  add(library, "H-0003");
  int asked = 0;
  CHECK_THROWS_AS(backupLibrary(library, folder / "b",
                                [&](const std::string&, double) { return ++asked <= 5; }),
                  Interrupted);
  REQUIRE(fs::exists(folder / "b" / kUnfinishedBackup));
  CHECK(checkLibrary(folder / "b", false, {}).faults().empty());
  SUBCASE("the backup is worked on, and then an old database takes the new one's place") {
    fs::copy_file(folder / "b" / "holdshelf.sqlite", folder / "old.sqlite");
    {
      Library other = Library::open(folder / "b");
      for (const char* id : {"H-0011", "H-0012", "H-0013"}) add(other, id);
      other.checkpoint();
    }
    CHECK(checkLibrary(folder / "b", true, {}).holds() == 4);
    CHECK_FALSE(fs::exists(folder / "b" / kUnfinishedBackup));
    fs::copy_file(folder / "old.sqlite", folder / "b" / "holdshelf.sqlite",
                  fs::copy_options::overwrite_existing);
    CHECK_FALSE(checkLibrary(folder / "b", false, {}).faults().empty());
    CHECK(checkLibrary(folder / "b", true, {}).repaired());
    CHECK(Library::open(folder / "b").has("H-0013"));
  }
  SUBCASE("the backup is worked on, and batches get lost from its list") {
    {
      Library other = Library::open(folder / "b");
      for (const char* id : {"H-0011", "H-0012", "H-0013"}) add(other, id);
    }
    execute(folder / "b", "DELETE FROM batch WHERE number > (SELECT min(number) + 1 FROM batch)");
    CHECK_FALSE(checkLibrary(folder / "b", false, {}).faults().empty());
    CHECK(checkLibrary(folder / "b", true, {}).repaired());
    CHECK(Library::open(folder / "b").has("H-0013"));
  }
  SUBCASE("a sign without a name, as older programs left it, hides nothing") {
    std::ofstream(folder / "b" / kUnfinishedBackup).flush();
    CHECK(fs::file_size(folder / "b" / kUnfinishedBackup) == 0);
    {
      Library other = Library::open(folder / "b");
      for (const char* id : {"H-0011", "H-0012", "H-0013"}) add(other, id);
    }
    execute(folder / "b",
            "DELETE FROM batch WHERE number > (SELECT min(number) FROM batch);"
            "DELETE FROM event WHERE number > 2;"
            "DELETE FROM hold WHERE key > 1");
    CHECK_FALSE(checkLibrary(folder / "b", false, {}).faults().empty());
    CHECK(checkLibrary(folder / "b", true, {}).repaired());
    CHECK(Library::open(folder / "b").has("H-0013"));
  }
}

TEST_CASE("backup: of two at once into one folder the older does not replace the newer") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  add(library, "H-0001");
  bool tried = false;
  const BackupReport older =
      backupLibrary(library, folder / "b", [&](const std::string& stage, double) {
        if (stage != "copying files" || tried) return true;
        tried = true;
        add(library, "H-0002");
        CHECK_THROWS_WITH_AS(backupLibrary(Library::open(folder / "l"), folder / "b", {}),
                             doctest::Contains("Another backup"), BadInput);
        return true;
      });
  CHECK(tried);
  CHECK(older.holds() == 1);
  CHECK(backupLibrary(library, folder / "b", {}).holds() == 2);
}

TEST_CASE("backup: one that is worked on while files are copied is not overwritten") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  add(library, "H-0001");
  (void)backupLibrary(library, folder / "b", {});
  add(library, "H-0002");
  bool worked_on = false;
  CHECK_THROWS_WITH_AS(backupLibrary(library, folder / "b",
                                     [&](const std::string& stage, double) {
                                       if (stage != "copying files" || worked_on) return true;
                                       Library other = Library::open(folder / "b");
                                       add(other, "H-0009");
                                       return worked_on = true;
                                     }),
                       doctest::Contains("no earlier"), BadInput);
  CHECK(Library::open(folder / "b").has("H-0009"));
}

TEST_CASE("backup: taken while others write, it is one moment of the library") {
  TempFolder folder;
  { (void)Library::openOrCreate(folder / "l"); }
  std::atomic<bool> done = false;
  std::thread writer([&] {
    Library library = Library::open(folder / "l");
    for (int i = 1; i <= 60; ++i) add(library, "H-00" + std::to_string(10 + i));
    done = true;
  });
  int backups = 0;
  do {
    const Library library = Library::open(folder / "l");
    const BackupReport report = backupLibrary(library, folder / "b", {});
    CHECK(report.faults().empty());
    CHECK(report.events() == 2 * report.holds());  // No commit is in it by half.
    ++backups;
  } while (!done);
  writer.join();
  CHECK(backups >= 1);
  CHECK(checkLibrary(folder / "l", false, {}).faults().empty());
}

TEST_CASE("backup and restore as commands; an interrupted one leaves the old backup") {
  TempFolder folder;
  {
    Library library = Library::openOrCreate(folder / "l");
    add(library, "H-0001");
  }
  const std::string l = (folder / "l").string(), b = (folder / "b").string();
  const ProgramRun made = runProgram({"backup", b, "-l", l});
  CHECK(made.status == 0);
  CHECK(made.out.find("1 holds, 2 events, 2 files") != std::string::npos);
  CHECK(runProgram({"restore", b, "-l", (folder / "r").string()}).status == 0);
  const ProgramRun again = runProgram({"restore", b, "-l", (folder / "r").string()});
  CHECK(again.status == 1);
  CHECK(isOneSentence(again.err));
  {
    Library library = Library::open(folder / "l");
    add(library, "H-0002");
  }
  const Library library = Library::open(folder / "l");
  CHECK_THROWS_AS(
      backupLibrary(library, folder / "b", [](const std::string&, double) { return false; }),
      Interrupted);
  CHECK(Library::open(folder / "b").size() == 1);
  for (const auto& entry : fs::directory_iterator(folder / "b"))
    CHECK(entry.path().filename().string().find("part") == std::string::npos);
}
