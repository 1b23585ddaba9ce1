// SPDX-License-Identifier: Apache-2.0
#include "catalog/intake_desk.h"

#include <doctest/doctest.h>

#include <atomic>
#include <chrono>
#include <fstream>
#include <functional>
#include <thread>

#include "catalog/blob_store.h"
#include "catalog/intake_form.h"
#include "catalog/library.h"
#include "mesh/bad_input.h"
#include "tests/catalog/desk_folder.h"
#include "tests/catalog/temp_folder.h"
#include "tests/catalog/waiting.h"

using namespace holdshelf;
using namespace holdshelf::test;
namespace fs = std::filesystem;

namespace {

const std::string kJpeg = "\xff\xd8\xff";

/// Stands for the program that looks at photos: held, then counts itself in `looks`.
fs::path heldLooker(const TempFolder& folder) {
  return shellProgram(folder, std::string(kHeld) + "echo x >> looks\necho '{\"usable\":true}'");
}

std::string bring(IntakeDesk& desk, const std::string& id, const std::string& bytes) {
  IntakePhoto photo;
  photo.set_sha256(sha256Hex(bytes));
  photo.set_size(static_cast<std::int64_t>(bytes.size()));
  desk.announce(id, photo);
  desk.receive(id, photo.sha256(), 0, bytes);
  return photo.sha256();
}

bool becomes(IntakeDesk& desk, const std::string& id, const std::string& photo,
             IntakePhoto::State state) {
  return comesTrue([&] { return desk.photo(id, photo).state() == state; });
}

/// How many handles this process has of a library's database.
std::size_t handlesOf(const fs::path& library) {
  std::size_t found = 0;
  std::error_code closed_meanwhile;
  for (const auto& handle : fs::directory_iterator("/proc/self/fd"))
    found += fs::read_symlink(handle.path(), closed_meanwhile) == library / "holdshelf.sqlite";
  return found;
}

Intake wishes(const std::string& paper) {
  Intake wanted;
  wanted.set_paper(paper);
  return wanted;
}

}  // namespace

TEST_CASE("intake desk: cut off after the library had it, it is not stored twice") {
  for (const auto kind : {IntakeDecision::NEW, IntakeDecision::ONE_MORE}) {
    CAPTURE(kind);
    TempFolder folder;
    Library library = Library::openOrCreate(folder / "l");
    Event lot;
    lot.mutable_created()->set_count(5);
    IntakeDecision decision;
    decision.set_kind(kind);
    decision.set_of(library.commit({lot}).front().hold());
    makeFinishedIntake(folder / "l", "0000abcd");
    Intake stored;
    {
      IntakeDesk desk(folder / "l", "/bin/false", [](const IntakeMoved&) {});
      stored = desk.store("0000abcd", decision, "Kim");
    }
    REQUIRE(stored.state() == Intake::STORED);
    const std::int64_t last = library.lastEvent();
    // Its files and state as they were when the library had just committed.
    const Intake before = makeFinishedIntake(folder / "l", "0000abcd", stored.stored_from());
    REQUIRE(before.state() == Intake::CHOOSING);
    IntakeDesk desk(folder / "l", "/bin/false", [](const IntakeMoved&) {});
    CHECK(desk.store("0000abcd", decision, "Kim").stored_as() == stored.stored_as());
    CHECK(library.lastEvent() == last);
    CHECK(library.hold(decision.of()).count() == (kind == IntakeDecision::NEW ? 5 : 6));
  }
}

TEST_CASE("intake desk: cut off after the library had it, that is known without its files") {
  TempFolder folder;
  (void)Library::openOrCreate(folder / "l");
  const fs::path at = makeFinishedFolder(folder / "l", "0000abcd");
  IntakeDecision decision;
  decision.set_kind(IntakeDecision::NEW);
  Intake before;
  {
    IntakeDesk desk(folder / "l", "/bin/false", [](const IntakeMoved&) {});
    before = desk.store("0000abcd", decision, "Kim");
  }
  before.set_state(Intake::CHOOSING);
  nameFiles(readyScanOf("0000abcd").finished, before);
  makeIntakeFolder(folder / "l", before);
  writeFileDurably(at / "finished.bin", "?");
  IntakeDesk desk(folder / "l", "/bin/false", [](const IntakeMoved&) {});
  CHECK(desk.get("0000abcd").state() == Intake::STORED);
  CHECK(desk.get("0000abcd").stored_as() == "H-0001");
}

TEST_CASE(
    "intake desk: what was rebuilt is damaged: that is said, and it is rebuilt as that says") {
  const auto halved = [](const fs::path& file) { fs::resize_file(file, fs::file_size(file) / 2); };
  const auto emptied = [](const fs::path& file) { fs::resize_file(file, 0); };
  const auto removed = [](const fs::path& file) { fs::remove(file); };
  const std::vector<std::pair<const char*, std::function<void(const fs::path&)>>> damages = {
      {"finished.bin", halved}, {"finished.bin", emptied}, {"hold.ply", halved},
      {"hold.ply", removed},    {"hold.glb", removed},     {"contact-sheet.png", halved}};
  for (const bool begun_before : {false, true})
    for (const auto& [name, damage] : damages) {
      CAPTURE(begun_before);
      CAPTURE(std::string(name));
      TempFolder folder;
      const Library library = Library::openOrCreate(folder / "l");
      makeFinishedIntake(folder / "l", "0000abcd", begun_before ? 1 : 0);
      damage(folder / "l" / "serve" / "intake" / "0000abcd" / name);
      IntakeDecision decision;
      decision.set_kind(IntakeDecision::NEW);
      for (const bool restarted : {false, true}) {
        CAPTURE(restarted);
        IntakeDesk desk(folder / "l", "/bin/false", [](const IntakeMoved&) {});
        CHECK_THROWS_WITH_AS(desk.store("0000abcd", decision, "Kim"),
                             doctest::Contains("start the rebuild again"), BadInput);
        if (restarted) CHECK(desk.start("0000abcd").state() == Intake::WAITING);
      }
      CHECK(library.size() == 0);
    }
}

TEST_CASE("intake desk: cut off before the library had it, it is stored then") {
  TempFolder folder;
  const Library library = Library::openOrCreate(folder / "l");
  makeFinishedIntake(folder / "l", "0000abcd", library.lastEvent() + 1);
  IntakeDecision decision;
  decision.set_kind(IntakeDecision::NEW);
  IntakeDesk desk(folder / "l", "/bin/false", [](const IntakeMoved&) {});
  CHECK(desk.store("0000abcd", decision, "Kim").stored_as() == "H-0001");
  CHECK(library.hold("H-0001").scans(0).photo_blobs_size() == 1);
}

TEST_CASE("intake desk: while one is being stored all can be looked at, and it is stored once") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  makeFinishedIntake(folder / "l", "0000abcd");
  IntakeDecision decision;
  decision.set_kind(IntakeDecision::NEW);
  IntakeDesk desk(folder / "l", "/bin/false", [](const IntakeMoved&) {});
  std::atomic<int> ended = 0;
  const auto store = [&] {
    CHECK(desk.store("0000abcd", decision, "Kim").stored_as() == "H-0002");
    ++ended;
  };
  std::vector<std::thread> clerks;
  // Whoever stores waits for the library as long as this commit lasts.
  Event other;
  other.mutable_created()->set_count(1);
  library.commit({other}, [&] {
    clerks.emplace_back(store);
    CHECK(comesTrue([&] { return desk.get("0000abcd").stored_from() > 0; }));
    clerks.emplace_back(store);
    clerks.emplace_back([&] {
      CHECK_THROWS_AS(desk.change("0000abcd", wishes("A4")), BadInput);  // It is stored by then.
      ++ended;
    });
    std::this_thread::sleep_for(std::chrono::milliseconds(50));
    CHECK(desk.list().intakes_size() == 1);
    CHECK(desk.get("0000abcd").state() == Intake::CHOOSING);
    CHECK(desk.contactSheet("0000abcd") == "sheet of 0000abcd");
    CHECK_FALSE(desk.open(wishes("A4"), "Robin").id().empty());
    CHECK(ended == 0);
  });
  for (std::thread& clerk : clerks) clerk.join();
  CHECK(ended == 3);
  CHECK(library.size() == 2);
}

TEST_CASE("intake desk: a photo looked at while one begins to be stored stays looked at") {
  TempFolder folder;
  (void)Library::openOrCreate(folder / "l");
  Intake intake = makeFinishedIntake(folder / "l", "0000abcd");
  intake.mutable_photos(0)->set_state(IntakePhoto::LOOKING);
  makeIntakeFolder(folder / "l", intake);
  const std::string photo = intake.photos(0).sha256();
  IntakeDesk desk(folder / "l", heldLooker(folder), [](const IntakeMoved&) {});
  REQUIRE(appears(folder / "begun"));
  IntakeDecision nothing_there;
  nothing_there.set_kind(IntakeDecision::NEW_SCAN);
  nothing_there.set_of("H-9999");
  std::thread clerk;
  {
    // Whoever asks the library waits: with a write-ahead log, readers too.
    sqlite::Database alone(folder / "l" / "holdshelf.sqlite", sqlite::Database::Access::ReadWrite);
    alone.execute("PRAGMA locking_mode = EXCLUSIVE; BEGIN IMMEDIATE");
    const std::size_t handles = handlesOf(folder / "l");
    clerk = std::thread(
        [&] { CHECK_THROWS_AS(desk.store("0000abcd", nothing_there, "Kim"), BadInput); });
    CHECK(comesTrue([&] { return handlesOf(folder / "l") > handles; }));
    std::ofstream(folder / "go").flush();
    CHECK(becomes(desk, "0000abcd", photo, IntakePhoto::LOOKED));
  }
  clerk.join();
  CHECK(desk.get("0000abcd").stored_from() > 0);
  CHECK(desk.photo("0000abcd", photo).state() == IntakePhoto::LOOKED);
}

TEST_CASE(
    "intake desk: one whose photos are still coming is stored when they are here or removed") {
  TempFolder folder;
  const Library library = Library::openOrCreate(folder / "l");
  makeFinishedIntake(folder / "l", "0000abcd");
  IntakeDecision decision;
  decision.set_kind(IntakeDecision::NEW);
  IntakeDesk desk(folder / "l", "/bin/false", [](const IntakeMoved&) {});
  IntakePhoto coming;
  coming.set_sha256(sha256Hex(kJpeg + "coming"));
  coming.set_size(9);
  desk.announce("0000abcd", coming);
  CHECK(desk.receive("0000abcd", coming.sha256(), 0, kJpeg));
  CHECK_THROWS_WITH_AS(desk.store("0000abcd", decision, "Kim"),
                       doctest::Contains("still on their way"), BadInput);
  CHECK(library.size() == 0);
  CHECK(desk.receive("0000abcd", coming.sha256(), 3, "coming"));
  CHECK(desk.store("0000abcd", decision, "Kim").stored_as() == "H-0001");
  CHECK(library.hold("H-0001").scans(0).photo_blobs_size() == 2);
}

TEST_CASE("intake desk: of a stored one its state is left for a day, then nothing") {
  TempFolder folder;
  (void)Library::openOrCreate(folder / "l");
  const fs::path at = makeFinishedFolder(folder / "l", "0000abcd");
  IntakeDecision decision;
  decision.set_kind(IntakeDecision::NEW);
  for (const int hours : {0, 23, 25}) {
    CAPTURE(hours);
    if (hours > 0)
      fs::last_write_time(at / "intake.json",
                          fs::file_time_type::clock::now() - std::chrono::hours(hours));
    IntakeDesk desk(folder / "l", "/bin/false", [](const IntakeMoved&) {});
    if (hours == 25) {
      CHECK_THROWS_AS(desk.get("0000abcd"), BadInput);
      CHECK_FALSE(fs::exists(at));
    } else {
      CHECK(desk.store("0000abcd", decision, "Kim").state() == Intake::STORED);
      CHECK(std::distance(fs::directory_iterator(at), {}) == 1);
    }
  }
}

TEST_CASE("intake desk: a photo thrown away in the queue and given again is not looked at unborn") {
  TempFolder folder;
  (void)Library::openOrCreate(folder / "l");
  IntakeDesk desk(folder / "l", heldLooker(folder), [](const IntakeMoved&) {});
  const std::string id = desk.open(wishes("A4"), "Kim").id();
  const std::string first = bring(desk, id, kJpeg + "first");
  const std::string again = bring(desk, id, kJpeg + "again");
  desk.removePhoto(id, again);
  IntakePhoto photo;
  photo.set_sha256(again);
  photo.set_size(8);
  desk.announce(id, photo);
  std::ofstream(folder / "go").flush();
  REQUIRE(becomes(desk, id, first, IntakePhoto::LOOKED));
  std::this_thread::sleep_for(std::chrono::milliseconds(800));  // Many looks long.
  CHECK(desk.photo(id, again).state() == IntakePhoto::UPLOADING);
  desk.receive(id, again, 0, kJpeg + "again");
  CHECK(becomes(desk, id, again, IntakePhoto::LOOKED));
  CHECK(desk.photo(id, again).label() == "photo-02.jpg");
}

TEST_CASE("intake desk: another mat while a photo is being looked at: it is looked at with that") {
  TempFolder folder;
  (void)Library::openOrCreate(folder / "l");
  IntakeDesk desk(folder / "l", heldLooker(folder), [](const IntakeMoved&) {});
  const std::string id = desk.open(wishes("A4"), "Kim").id();
  const std::string photo = bring(desk, id, kJpeg + "photo");
  REQUIRE(appears(folder / "begun"));
  desk.change(id, wishes("A3"));
  std::ofstream(folder / "go").flush();
  REQUIRE(becomes(desk, id, photo, IntakePhoto::LOOKED));
  CHECK(readFile(folder / "looks") == "x\nx\n");
}

TEST_CASE("intake desk: a photo's name is only shown: a long one is cut, between letters") {
  TempFolder folder;
  (void)Library::openOrCreate(folder / "l");
  IntakeDesk desk(folder / "l", "/bin/false", [](const IntakeMoved&) {});
  const std::string id = desk.open(wishes("A4"), "Kim").id();
  IntakePhoto photo;
  photo.set_sha256(std::string(64, 'a'));
  photo.set_size(8);
  for (int i = 0; i < 250; ++i) photo.mutable_name()->append("\xc3\xa4");  // U+00E4, two bytes.
  CHECK(desk.announce(id, photo).name() == photo.name().substr(0, 400));
}
