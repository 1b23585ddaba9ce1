// SPDX-License-Identifier: Apache-2.0
// Damage of every class of file and of database page: found, named, contained, and mended as far as
// what is left allows.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <map>
#include <random>
#include <set>

#include "capture/mat_file.h"
#include "catalog/intake.h"
#include "catalog/library_backup.h"
#include "catalog/library_check.h"
#include "mesh/bad_input.h"
#include "mesh/mesh_io.h"
#include "tests/catalog/temp_folder.h"
#include "tests/photobooth/booth.h"
#include "tests/photobooth/capture_truth.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using namespace holdshelf::test;
namespace fs = std::filesystem;

namespace {

constexpr int kHolds = 60;

/// A library with one of each class of file, and enough holds that its tables and indexes have
/// inner pages and its long records overflow pages; a backup of it beside.
struct Original {
  TempFolder folder;
  std::map<std::string, std::string> files;  ///< Class to blob.

  Original() {
    Library library = Library::openOrCreate(folder / "l");
    addDome(library);
    for (int i = 2; i <= kHolds; ++i) {
      const std::string id = "H-00" + std::to_string(i + 10);
      Event made, scanned;
      made.set_hold(id);
      made.mutable_created()->set_name("hold " + id + std::string(300, 'n'));
      made.mutable_created()->set_bin("bin " + id + std::string(200, 'b'));
      scanned.set_hold(id);
      scanned.mutable_scanned()->set_id(id);
      for (int section = 0; section < 700; ++section)
        scanned.mutable_scanned()->mutable_shape()->add_sections()->set_rotation_deg(section);
      library.commit({made, scanned});
    }
    {
      sqlite::Statement batch(library.database(),
                              "SELECT blob FROM batch ORDER BY number LIMIT 1 OFFSET 29");
      REQUIRE(batch.step());
      files["batch"] = batch.text(0);
    }
    library.checkpoint();
    REQUIRE(backupLibrary(library, folder / "b", {}).faults().empty());
  }

 private:
  void addDome(Library& library) {
    Blobs& blobs = library.blobs();
    const ExactHold solid = domeHold(30, 20);
    const std::string mesh = plyBytes(meshSdf(solid.solid, solid.box_mm, 4));
    Event made, scanned, photo;
    for (Event* event : {&made, &scanned, &photo}) event->set_hold("H-0001");
    made.mutable_created()->set_name("dome");
    Scan& scan = *scanned.mutable_scanned();
    scan.set_id("one");
    scan.set_mesh_blob(files["mesh"] = blobs.put(mesh));
    scan.set_glb_blob(files["viewer mesh"] = blobs.put(glbBytes(parseMesh(mesh, "m.ply"))));
    scan.set_thumbnail_blob(files["thumbnail"] = blobs.put("a small picture"));
    scan.set_contact_sheet_blob(files["contact sheet"] = blobs.put("a large picture"));
    scan.add_photo_blobs(files["photo"] = blobs.put("a photo of the capture"));
    photo.set_photographed(blobs.put("a photo of its own"));
    library.commit({made, scanned, photo});
  }
};

/// A copy of it to be damaged.
struct Damaged {
  TempFolder folder;
  std::map<std::string, std::string> files;

  Damaged() {
    static const Original original;
    files = original.files;
    for (const char* part : {"l", "b"})
      fs::copy(original.folder / part, folder / part, fs::copy_options::recursive);
  }

  fs::path database() const { return folder / "l" / "holdshelf.sqlite"; }
  fs::path file(const std::string& what) const {
    return BlobStore(folder / "l" / "blobs").file(files.at(what));
  }
  CheckReport check(bool repair, bool backup = false) const {
    return checkLibrary(folder / "l", repair, {}, backup ? folder / "b" : fs::path());
  }
  /// All that was there is there again.
  void checkWhole() const {
    const CheckReport report = check(false);
    CAPTURE(report.ShortDebugString());
    CHECK(report.faults().empty());
    const Library library = Library::open(folder / "l");
    CHECK(library.size() == kHolds);
    CHECK(library.lastEvent() == 2 * kHolds + 1);
    CHECK(library.hold("H-0001").name() == "dome");
    CHECK(library.currentFullScan("H-0041").shape().sections_size() == 700);
  }
};

void flip(const fs::path& path, std::uintmax_t at, int bits = 0x40) {
  std::fstream file(path, std::ios::in | std::ios::out | std::ios::binary);
  file.seekg(static_cast<std::streamoff>(at));
  const char byte = static_cast<char>(file.get() ^ bits);
  file.seekp(static_cast<std::streamoff>(at));
  file.put(byte);
}

bool names(const CheckReport& report, const std::string& what) {
  for (const std::string& fault : report.faults())
    if (fault.find(what) != std::string::npos) return true;
  return false;
}

/// What kind of page each page of the database is: "event leaf", "hold_bin inner", ...
std::map<std::string, std::vector<int>> pagesByClass(const fs::path& file) {
  const sqlite::Database database(file, sqlite::Database::Access::ReadOnly);
  std::map<std::string, std::vector<int>> pages;
  sqlite::Statement page(database, "SELECT name, pagetype, pageno FROM dbstat");
  while (page.step())
    pages[page.text(0) + " " + page.text(1)].push_back(static_cast<int>(page.integer(2)));
  return pages;
}

}  // namespace

TEST_CASE("damage: each class of file, changed and lost: named, contained, back from the backup") {
  for (const char* what : {"mesh", "viewer mesh", "thumbnail", "contact sheet", "photo", "batch"})
    for (const bool lost : {false, true}) {
      CAPTURE(std::string(what));
      CAPTURE(lost);
      const Damaged d;
      if (lost)
        fs::remove(d.file(what));
      else
        flip(d.file(what), 5);
      const CheckReport found = d.check(false);
      CAPTURE(found.ShortDebugString());
      CHECK_FALSE(found.faults().empty());
      CHECK(names(found, d.files.at(what).substr(2)));  // Which file,
      if (std::string(what) != "batch")
        CHECK(names(found, std::string("H-0001's ") + what));  // and whose.
      // Nothing else is the worse for it: every record is read, and can be changed.
      Library library = Library::open(d.folder / "l");
      int read = 0;
      library.forEachHold([&](std::int64_t, const Hold&) { ++read; });
      CHECK(read == kHolds);
      Event note;
      note.set_hold("H-0012");
      note.set_noted("seen");
      CHECK(library.commit({note}).size() == 1);
      CHECK(library.hold("H-0012").notes_size() == 1);
      const CheckReport mended = d.check(true, true);
      CHECK(mended.mended_size() >= 1);
      CHECK(d.check(false).faults().empty());
      CHECK(BlobStore(d.folder / "l" / "blobs").get(d.files.at(what)).size() > 0);
      CHECK(Library::open(d.folder / "l").hold("H-0012").notes_size() == 1);
    }
}

TEST_CASE(
    "damage: a lost mesh comes back from its photos, as check says, and nothing waits for it") {
  TempFolder folder;
  BoothOptions booth;
  booth.width_px = 640, booth.height_px = 480;
  booth.rig.photos = 12;
  booth.stage.mesh_cell_mm = 2;
  booth.lens.samples = 1;
  photograph(holdNamed("chip"), booth, folder / "c", nullptr);
  IntakeOptions options;
  options.mat = readMat(folder / "c" / "mat.json");
  options.rebuild.quality = Quality::Draft;
  options.rebuild.stages_folder = folder / "stages";  // So that the later ones are quick.
  const auto go_on = [](const std::string&, double) { return true; };
  const auto takeIn = [&] { return intake(folder / "l", photosIn(folder / "c"), options, go_on); };
  const std::string mesh = takeIn().scans(0).mesh_blob();
  const BlobStore blobs(folder / "l" / "blobs");
  fs::remove(blobs.file(mesh));
  const CheckReport lost = checkLibrary(folder / "l", false, {});
  REQUIRE(names(lost, "its photos are whole: holdshelf intake --new-scan-of"));

  // The photos once more, without saying whose they are: it cannot be compared, and that is said.
  TwinList again;
  options.choose = [&](const TwinList& twins) {
    again = twins;
    return IntakeChoice{};
  };
  CHECK(takeIn().id() == "H-0002");
  REQUIRE(again.unread_size() == 1);
  CHECK(again.unread(0) == "H-0001");

  // With them, the very mesh.
  fs::remove(blobs.file(mesh));
  options.new_scan_of = "H-0001";
  const Hold mended = takeIn();
  CHECK(mended.id() == "H-0001");
  CHECK(mended.scans_size() == 2);
  CHECK(blobs.get(mended.scans(1).mesh_blob()).size() > 0);
  CHECK(mended.scans(1).mesh_blob() == mesh);
  CHECK(checkLibrary(folder / "l", false, {}).faults().empty());
}

TEST_CASE("damage: the viewer's mesh is made of the mesh again; whose photos are whole is said") {
  const Damaged d;
  fs::remove(d.file("viewer mesh"));
  CHECK(d.check(true).mended(0).find("made again from its mesh") != std::string::npos);
  d.checkWhole();
  fs::remove(d.file("mesh"));
  CHECK(names(d.check(false), "its photos are whole: holdshelf intake --new-scan-of"));
  fs::remove(d.file("photo"));
  CHECK_FALSE(names(d.check(false), "its photos are whole"));
}

TEST_CASE("damage: every class of database page: found, and made anew from the batches") {
  const auto classes = pagesByClass(Damaged().database());
  std::set<std::string> kinds;
  for (const auto& [name, pages] : classes) kinds.insert(name.substr(name.rfind(' ') + 1));
  CHECK(kinds == std::set<std::string>{"internal", "leaf", "overflow"});
  std::mt19937 random(20261126);
  int damaged = 0, found = 0;
  for (const auto& [name, pages] : classes)
    for (const char* how : {"zeroed", "noise", "one bit"}) {
      CAPTURE(name);
      CAPTURE(std::string(how));
      const Damaged d;
      const int page = pages[random() % pages.size()];
      const auto from = static_cast<std::streamoff>(page - 1) * 4096;
      if (std::string(how) == "one bit") {
        // In the page's header (its kind, or of a chain's page the next one), where it must tell.
        flip(d.database(), static_cast<std::uintmax_t>(from) + (page == 1 ? 100 : 0));
      } else {
        std::string bytes(4096, '\0');
        if (std::string(how) == "noise")
          for (char& byte : bytes) byte = static_cast<char>(random());
        std::fstream file(d.database(), std::ios::in | std::ios::out | std::ios::binary);
        file.seekp(from);
        file.write(bytes.data(), 4096);
      }
      ++damaged;
      const CheckReport report = d.check(false);
      CAPTURE(report.ShortDebugString());
      CHECK_FALSE(report.faults().empty());
      found += report.faults().empty() ? 0 : 1;
      CHECK(d.check(true).repaired());
      d.checkWhole();
    }
  CHECK(found == damaged);
  MESSAGE(damaged << " damaged pages of " << classes.size() << " classes, all found and mended");
}

TEST_CASE("damage: single bits of what says the database's version and maker") {
  for (const int at : {60, 61, 62, 63, 68, 69, 70, 71})
    for (int bit = 0; bit < 8; ++bit) {
      if (at != 63 && bit != 0 && bit != 7) continue;
      CAPTURE(at);
      CAPTURE(bit);
      const Damaged d;
      flip(d.database(), static_cast<std::uintmax_t>(at), 1 << bit);
      try {
        const CheckReport found = d.check(false);
        CHECK_FALSE(found.faults().empty());
      } catch (const NewerLibrary& newer) {
        CHECK(at < 64);
        REQUIRE(std::string(newer.what()).find("move its holdshelf.sqlite away and run") !=
                std::string::npos);
        fs::rename(d.database(), d.folder / "away");
      }
      CHECK(d.check(true).repaired());
      d.checkWhole();
    }
}

TEST_CASE("damage: single bits anywhere in a row are found where they change what it says") {
  const Damaged d;
  const std::string whole = readFile(d.database());
  const Library before = Library::open(d.folder / "b");
  std::mt19937 random(7);
  int found = 0, harmless = 0;
  for (int n = 0; n < 60; ++n) {
    const std::size_t at = 100 + random() % (whole.size() - 100);
    CAPTURE(at);
    std::string bytes = whole;
    bytes[at] = static_cast<char>(bytes[at] ^ (1 << (random() % 8)));
    for (const char* tail : {"-wal", "-shm"}) fs::remove(d.database().string() + tail);
    std::ofstream(d.database(), std::ios::binary) << bytes;
    if (!d.check(false).faults().empty()) {
      ++found;
      continue;
    }
    // Not found: then nothing that anybody reads has changed (unused room of a page).
    ++harmless;
    const Library library = Library::open(d.folder / "l");
    int holds = 0;
    library.forEachHold([&](std::int64_t, const Hold& hold) {
      ++holds;
      CHECK(hold.SerializeAsString() == before.hold(hold.id()).SerializeAsString());
    });
    CHECK(holds == kHolds);
  }
  CHECK(found > 20);
  MESSAGE(found << " of 60 flipped bits found, " << harmless << " in room that nothing uses");
}

TEST_CASE(
    "damage: batch and database both gone: what the backup has comes back, else it is named") {
  const Damaged d;
  fs::remove(d.file("batch"));
  fs::remove(d.database());
  const CheckReport alone = d.check(true);
  CHECK(names(alone, "is lost or damaged, and others follow on it"));
  CHECK(d.check(true, true).mended_size() == 1);
  d.checkWhole();
}
