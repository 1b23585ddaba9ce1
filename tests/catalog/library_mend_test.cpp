// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_mend.h"

#include <doctest/doctest.h>

#include <fstream>

#include "catalog/batch_chain.h"
#include "catalog/blob_store.h"
#include "catalog/library_check.h"
#include "catalog/library_place.h"
#include "mesh/bad_input.h"
#include "mesh/mesh_io.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;
namespace fs = std::filesystem;

namespace {

const std::string kPly = plyBytes([] {
  TriangleMesh mesh;
  mesh.vertices_mm = {{0, 0, 0}, {9, 0, 0}, {0, 9, 0}, {0, 0, 9}};
  mesh.triangles = {{0, 2, 1}, {0, 1, 3}, {1, 2, 3}, {0, 3, 2}};
  return mesh;
}());

/// A library of one hold with a mesh, the viewer's and a photo.
struct OneHold {
  TempFolder folder;
  fs::path at = folder / "l";
  std::string mesh, glb, photo;

  OneHold() {
    Library library = Library::openOrCreate(at);
    mesh = library.blobs().put(kPly);
    glb = library.blobs().put(glbBytes(parseMesh(kPly, "H-0001.ply")));
    photo = library.blobs().put("a photo");
    Event created, scanned;
    created.set_hold("H-0001");
    created.mutable_created()->set_count(1);
    scanned.set_hold("H-0001");
    scanned.mutable_scanned()->set_mesh_blob(mesh);
    scanned.mutable_scanned()->set_glb_blob(glb);
    scanned.mutable_scanned()->add_photo_blobs(photo);
    library.commit({created, scanned});
  }
  fs::path file(const std::string& name) const { return BlobStore(at / "blobs").file(name); }
};

}  // namespace

TEST_CASE("mendFiles: what is lost or damaged comes back from a copy, in a chain of batches too") {
  const OneHold hold;
  fs::copy(hold.at, hold.folder / "copy", fs::copy_options::recursive);
  const std::string batch = Library::open(hold.at).store().lastBatch();
  fs::remove(hold.file(hold.photo));
  fs::remove(hold.file(batch));
  std::ofstream(hold.file(hold.mesh), std::ios::trunc) << "damaged";
  CheckReport report;
  mendFiles(hold.at, hold.folder / "copy", report);
  CHECK(report.mended_size() == 3);
  CHECK(checkLibrary(hold.at, false, {}).faults().empty());
  report.Clear();
  mendFiles(hold.at, hold.folder / "copy", report);
  CHECK(report.mended().empty());
  CHECK_THROWS_AS(mendFiles(hold.at, hold.folder / "none", report), BadInput);
}

TEST_CASE("remakeViewerMeshes: the viewer's mesh from the mesh, and only the very same") {
  const OneHold hold;
  fs::remove(hold.file(hold.glb));
  CheckReport report;
  remakeViewerMeshes(hold.at, report);
  CHECK(report.mended_size() == 1);
  CHECK(sha256Hex(readFile(hold.file(hold.glb))) == hold.glb);
  fs::remove(hold.file(hold.glb));
  fs::remove(hold.file(hold.mesh));
  report.Clear();
  remakeViewerMeshes(hold.at, report);
  CHECK(report.mended().empty());
  CHECK_FALSE(fs::exists(hold.file(hold.glb)));
}

TEST_CASE("restoreDatabase: in place, or beside one that is no database any more") {
  for (const bool damaged : {false, true}) {
    CAPTURE(damaged);
    const OneHold hold;
    std::vector<Event> events;
    {
      const Library library = Library::open(hold.at);
      library.forEachEvent([&](const Event& event) { events.push_back(event); });
    }
    const std::vector<std::string> batches = rewriteBatches(hold.at, events);
    std::optional<Library> library;
    if (damaged) {
      for (const char* tail : {"", "-wal", "-shm"})
        fs::remove(hold.at / ("holdshelf.sqlite" + std::string(tail)));
      std::ofstream(hold.at / "holdshelf.sqlite") << "no database";
    } else {
      library.emplace(Library::open(hold.at));
    }
    CheckReport report;
    restoreDatabase(hold.at, library, batches, events, RepairTurn(hold.at), report);
    REQUIRE(library);
    CHECK(library->size() == 1);
    CHECK(library->store().batches() == batches);
    CHECK(report.mended_size() == (damaged ? 1 : 0));
    CHECK(fs::exists(hold.at / "holdshelf.sqlite.damaged-1") == damaged);
  }
}

TEST_CASE("restoreDatabase: another one is there whole before the damaged one is set aside") {
  const OneHold hold;
  std::vector<Event> events;
  {
    const Library library = Library::open(hold.at);
    library.forEachEvent([&](const Event& event) { events.push_back(event); });
  }
  for (const char* tail : {"", "-wal", "-shm"})
    fs::remove(hold.at / ("holdshelf.sqlite" + std::string(tail)));
  std::ofstream(hold.at / "holdshelf.sqlite") << "no database";
  const RepairTurn turn(hold.at);
  std::swap(events[0], events[1]);  // The scan of a hold that is not there yet.
  CheckReport report;
  std::optional<Library> library;
  CHECK_THROWS_AS(restoreDatabase(hold.at, library, {hold.mesh}, events, turn, report), BadInput);
  CHECK(readFile(hold.at / "holdshelf.sqlite") == "no database");
  CHECK_FALSE(fs::exists(hold.at / "holdshelf.sqlite.damaged-1"));
  CHECK(leaveOutOrphans(events) == 1);
  restoreDatabase(hold.at, library, {hold.mesh}, events, turn, report);
  REQUIRE(library);
  CHECK(library->lastEvent() == 1);
  CHECK(readFile(hold.at / "holdshelf.sqlite.damaged-1") == "no database");
  int files = 0;
  for (const auto& entry : fs::directory_iterator(hold.at))
    files += entry.path().filename().string().find("part") != std::string::npos ? 1 : 0;
  CHECK(files == 0);
}

TEST_CASE("restoreDatabase: where the database says otherwise, it is kept aside first") {
  const OneHold hold;
  std::optional<Library> library(Library::open(hold.at));
  std::vector<Event> events;
  library->forEachEvent([&](const Event& event) { events.push_back(event); });
  events[0].mutable_created()->set_name("otherwise");
  const std::string batch = rewriteBatches(hold.at, events).front();
  CheckReport report;
  auto write = library->store().write();  // Under which the rows were looked through.
  restoreDatabase(hold.at, library, {batch}, events, RepairTurn(hold.at), report, std::move(write));
  CHECK(library->hold("H-0001").name() == "otherwise");
  REQUIRE(report.mended_size() == 1);
  CHECK(report.mended(0).find("holdshelf.sqlite.before-repair-1") != std::string::npos);
  fs::create_directories(hold.folder / "kept");
  fs::copy(hold.at / "holdshelf.sqlite.before-repair-1", hold.folder / "kept" / "holdshelf.sqlite");
  CHECK(Library::open(hold.folder / "kept").hold("H-0001").name().empty());
}

TEST_CASE("rewriteBatches: what does not fit into one batch is a chain, which is taken whole") {
  // A history with a batch lost in its middle.
  const OneHold hold;
  {
    Library library = Library::open(hold.at);
    for (int i = 2; i < 30; ++i) {
      Event created;
      created.mutable_created()->set_name("hold " + std::to_string(i));
      library.commit({created});
    }
  }
  std::vector<Event> events;
  std::string lost;
  {
    const Library library = Library::open(hold.at);
    library.forEachEvent([&](const Event& event) { events.push_back(event); });
    lost = library.store().batches()[14];
  }
  BlobStore blobs(hold.at / "blobs");
  blobs.discard(lost);
  const auto stored = [&] {
    StoredBatches batches;
    for (const std::string& name : blobs.names())
      if (auto batch = asBatch(blobs.get(name))) batches[name] = *batch;
    return batches;
  };
  const StoredBatches before = stored();
  for (const std::size_t most : {1000, 400}) {
    CAPTURE(most);
    const std::vector<std::string> chain = rewriteBatches(hold.at, events, most);
    CHECK(chain.size() >= 3);
    // Cut off here, what is lost is said, and nothing of what was written for it.
    const CheckReport looked = checkLibrary(hold.at, false, {});
    CHECK_FALSE(looked.faults().empty());
    for (const std::string& fault : looked.faults())
      CHECK(fault.find("no part of the library") == std::string::npos);
    CHECK(rewriteBatches(hold.at, events, most) == chain);  // Cut off and begun again.
    CHECK(chainOf(stored(), nullptr) == chain);
    const StoredBatches all = stored();
    std::vector<std::string> said, meant;
    for (const std::string& name : chain) {
      CHECK(blobs.get(name).size() <= most);
      for (const Event& event : all.at(name).events()) said.push_back(event.SerializeAsString());
    }
    for (const Event& event : events) meant.push_back(event.SerializeAsString());
    CHECK(said == meant);
    CheckReport report;
    std::optional<Library> library(Library::open(hold.at));
    restoreDatabase(hold.at, library, chain, events, RepairTurn(hold.at), report);
    CHECK(checkLibrary(hold.at, false, {}).faults().empty());
    for (const std::string& name : chain)
      if (before.count(name) == 0) blobs.discard(name);
  }
  CHECK(stored().size() == before.size());
  // As the command does it: one batch, as all fit.
  {
    std::optional<Library> library(Library::open(hold.at));
    CheckReport report;
    restoreDatabase(hold.at, library, {lost}, events, RepairTurn(hold.at), report);
  }
  CHECK(checkLibrary(hold.at, true, {}).repaired());
  CHECK(Library::open(hold.at).store().batches().size() == 1);
  CHECK(checkLibrary(hold.at, false, {}).faults().empty());
}

TEST_CASE("rewriteBatches: too many events for one batch are refused, not stored as nothing") {
  const OneHold hold;
  std::vector<Event> events;
  Library::open(hold.at).forEachEvent([&](const Event& event) { events.push_back(event); });
  const auto before = BlobStore(hold.at / "blobs").names();
  CHECK_THROWS_AS(rewriteBatches(hold.at, events, 10), BadInput);
  CHECK(BlobStore(hold.at / "blobs").names() == before);
}

TEST_CASE("leaveOutOrphans: of a hold without its creation nothing is left, of others everything") {
  std::vector<Event> events(6);
  events[0].set_hold("H-0001");
  events[0].mutable_created();
  events[1].set_hold("H-0002");
  events[1].set_noted("orphan");
  events[2].set_subject("gym");
  events[3].set_hold("H-0001");
  events[3].set_noted("stays");
  events[4].set_hold("H-0002");
  events[4].mutable_created()->set_name("late");
  events[5].set_hold("H-0001");
  events[5].mutable_created()->set_name("again");
  CHECK(leaveOutOrphans(events) == 2);
  REQUIRE(events.size() == 4);
  CHECK(events[1].subject() == "gym");
  CHECK(events[2].noted() == "stays");
  CHECK(events[3].created().name() == "late");
}
