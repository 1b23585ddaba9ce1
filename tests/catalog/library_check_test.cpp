// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_check.h"

#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>

#include "catalog/library_copy.h"
#include "mesh/bad_input.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using holdshelf::test::TempFolder;

namespace {

/// A library of three holds in three commits, one with a mesh.
void fill(const std::filesystem::path& folder) {
  Library library = Library::openOrCreate(folder);
  const std::string mesh = library.blobs().put("a mesh");
  for (const char* id : {"H-0001", "H-0002", "H-0003"}) {
    Event made, scanned;
    made.set_hold(id);
    made.mutable_created()->set_name(std::string("hold ") + id);
    scanned.set_hold(id);
    scanned.mutable_scanned()->set_id(id);
    scanned.mutable_scanned()->set_mesh_blob(mesh);
    scanned.mutable_scanned()->mutable_shape()->add_sections()->set_rotation_deg(5);
    library.commit({made, scanned});
  }
  library.checkpoint();
}

void checkWhole(const std::filesystem::path& folder) {
  const Library library = Library::open(folder);
  CHECK(library.size() == 3);
  CHECK(library.lastEvent() == 6);
  CHECK(library.hold("H-0003").name() == "hold H-0003");
  CHECK(library.currentFullScan("H-0002").shape().sections_size() == 1);
  CHECK(checkLibrary(folder, false, {}).faults().empty());
}

}  // namespace

TEST_CASE("checkLibrary: a sound library has no faults") {
  TempFolder folder;
  fill(folder.path());
  const CheckReport report = checkLibrary(folder.path(), false, {});
  CHECK(report.faults().empty());
  CHECK(report.holds() == 3);
  CHECK(report.events() == 6);
  CHECK(report.blobs() == 4);  // One mesh, three batches.
  CHECK(report.unreferenced_blobs() == 0);
}

TEST_CASE("checkLibrary: a lost database is made anew from the batches") {
  TempFolder folder;
  fill(folder.path());
  for (const char* name : {"holdshelf.sqlite", "holdshelf.sqlite-wal", "holdshelf.sqlite-shm"})
    std::filesystem::remove(folder / name);
  CHECK_THROWS_AS(checkLibrary(folder.path(), false, {}), BadInput);
  CHECK(checkLibrary(folder.path(), true, {}).repaired());
  checkWhole(folder.path());
}

TEST_CASE("checkLibrary: records and events that were tampered with are found and mended") {
  for (const char* damage :
       {"UPDATE hold SET body = x'' WHERE id = 'H-0002'", "DELETE FROM event WHERE number = 6",
        "DELETE FROM hold WHERE id = 'H-0001'",
        "UPDATE hold SET body = (SELECT body FROM hold WHERE id = 'H-0001') WHERE id = 'H-0003'"}) {
    CAPTURE(std::string(damage));
    TempFolder folder;
    fill(folder.path());
    {
      sqlite::Database database(folder / "holdshelf.sqlite", sqlite::Database::Access::ReadWrite);
      database.execute(damage);
    }
    CHECK_FALSE(checkLibrary(folder.path(), false, {}).faults().empty());
    CHECK(checkLibrary(folder.path(), true, {}).repaired());
    checkWhole(folder.path());
  }
}

TEST_CASE(
    "checkLibrary: changed and lost files are named; what interrupted work left is not a fault") {
  TempFolder folder;
  fill(folder.path());
  BlobStore blobs(folder / "blobs");
  blobs.put("left by a process that was killed");
  Batch orphan;  // Written, but its transaction never came: nothing follows it.
  orphan.add_events()->set_hold("H-0009");
  orphan.mutable_events(0)->set_number(7);
  orphan.mutable_events(0)->set_at("2031-01-01T00:00:00.000Z");
  orphan.mutable_events(0)->mutable_created();
  blobs.put(orphan.SerializeAsString());
  CheckReport report = checkLibrary(folder.path(), false, {});
  CHECK(report.faults().empty());
  CHECK(report.unreferenced_blobs() == 2);

  const std::string mesh = sha256Hex("a mesh");
  std::ofstream(blobs.file(mesh)) << "a mess";
  report = checkLibrary(folder.path(), false, {});
  CHECK_FALSE(report.faults().empty());
  CHECK(report.faults(0).find("has changed on the disk") != std::string::npos);
}

TEST_CASE("checkLibrary: a lost batch costs nothing while the database is there") {
  for (const std::size_t lost : {0U, 1U, 2U}) {
    CAPTURE(lost);
    TempFolder folder;
    fill(folder.path());
    std::vector<std::string> batches;
    {
      const Library library = Library::open(folder.path());
      sqlite::Statement names(library.database(), "SELECT blob FROM batch ORDER BY number");
      while (names.step()) batches.push_back(names.text(0));
    }
    REQUIRE(batches.size() == 3);
    std::filesystem::remove(BlobStore(folder / "blobs").file(batches[lost]));
    CHECK_FALSE(checkLibrary(folder.path(), false, {}).faults().empty());
    CHECK(checkLibrary(folder.path(), true, {}).repaired());
    checkWhole(folder.path());
    // The new batch is enough by itself.
    for (const char* name : {"holdshelf.sqlite", "holdshelf.sqlite-wal", "holdshelf.sqlite-shm"})
      std::filesystem::remove(folder / name);
    CHECK(checkLibrary(folder.path(), true, {}).repaired());
    checkWhole(folder.path());
  }
}

TEST_CASE("checkLibrary: lost and damaged files come back from a copy") {
  TempFolder folder;
  fill(folder / "library");
  copyLibrary(Library::open(folder / "library"), folder / "copy", {});
  const BlobStore blobs(folder / "library" / "blobs");
  const auto names = blobs.names();
  std::filesystem::remove(blobs.file(names[0]));
  std::ofstream(blobs.file(names[2])) << "a mess";
  CHECK_FALSE(checkLibrary(folder / "library", false, {}).faults().empty());
  const CheckReport report = checkLibrary(folder / "library", true, {}, folder / "copy");
  CHECK(report.mended_size() == 2);
  CHECK(report.faults().empty());
  checkWhole(folder / "library");
  CHECK_THROWS_AS(checkLibrary(folder / "library", true, {}, folder / "none"), BadInput);
}
