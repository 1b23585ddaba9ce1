// SPDX-License-Identifier: Apache-2.0
#include "catalog/intake_files.h"

#include <doctest/doctest.h>

#include <chrono>
#include <fstream>

#include "catalog/blob_store.h"
#include "catalog/finished_files.h"
#include "catalog/intake_form.h"
#include "tests/catalog/desk_folder.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;
namespace fs = std::filesystem;

namespace {

/// A photo of nine bytes that is on its way.
IntakePhoto& addComing(Intake& intake) {
  IntakePhoto& coming = *intake.add_photos();
  coming.set_sha256(std::string(64, 'b'));
  coming.set_size(9);
  coming.set_state(IntakePhoto::UPLOADING);
  return coming;
}

}  // namespace

TEST_CASE("intake files: what was kept is read again, with what has come in of its photos") {
  TempFolder folder;
  Intake intake = intakeWithPhoto("12345678", Intake::COLLECTING);
  IntakePhoto& coming = addComing(intake);
  IntakePhoto& not_begun = *intake.add_photos();
  not_begun.set_sha256(std::string(64, 'c'));
  not_begun.set_received(5);  // Its file was lost.
  not_begun.set_state(IntakePhoto::UPLOADING);
  {
    const IntakeFiles files(folder.path());
    files.create(intake);
    files.addPiece(intake.id(), coming, 0, "abcd");
  }
  const auto found = IntakeFiles(folder.path()).readAll();
  REQUIRE(found.size() == 1);
  CHECK(found[0].id() == "12345678");
  CHECK(found[0].photos(0).label() == "photo-01.jpg");
  CHECK(found[0].photos(1).received() == 4);
  CHECK(found[0].photos(2).received() == 0);
}

TEST_CASE("intake files: a piece that was cut off is written over from where it began") {
  TempFolder folder;
  const IntakeFiles files(folder.path());
  Intake intake;
  intake.set_id("12345678");
  files.create(intake);
  IntakePhoto photo;
  photo.set_sha256(std::string(64, 'a'));
  photo.set_state(IntakePhoto::UPLOADING);
  files.addPiece(intake.id(), photo, 0, "abcd");
  files.addPiece(intake.id(), photo, 4, "ef");  // Half of "efgh"; the disk was full.
  files.addPiece(intake.id(), photo, 4, "efgh");
  CHECK(readFile(files.photoFile(intake.id(), photo)) == "abcdefgh");
  fs::remove_all(files.folderOf(intake.id()));
  CHECK_THROWS_AS(files.addPiece(intake.id(), photo, 8, "ij"), std::runtime_error);
}

TEST_CASE("intake files: what is no intake is left alone and left out") {
  TempFolder folder;
  (void)makeIntakeFolder(folder.path(), intakeWithPhoto("12345678", Intake::COLLECTING));
  const fs::path intakes = folder / "serve" / "intake";
  fs::create_directories(intakes / "begun");  // Ended before its state was written.
  fs::create_directories(intakes / "copied");
  fs::copy_file(intakes / "12345678" / "intake.json", intakes / "copied" / "intake.json");
  CHECK(IntakeFiles(folder.path()).readAll().size() == 1);
  for (const char* name : {"begun", "copied"}) CHECK(fs::exists(intakes / name));
}

TEST_CASE("intake files: one whose state is damaged has failed, and its photos are there") {
  TempFolder folder;
  Intake intake = intakeWithPhoto("12345678", Intake::COLLECTING);
  const fs::path at = makeIntakeFolder(folder.path(), intake);
  for (const char* other : {"photo-03.png", "photo-04.jpg.4711.part", "left.small"})
    std::ofstream(at / other) << other;
  const fs::path empty = makeIntakeFolder(folder.path(), [] {
    Intake stored = intakeWithPhoto("87654321", Intake::STORED);
    stored.clear_photos();
    return stored;
  }());
  for (const fs::path& state : {at / "intake.json", empty / "intake.json"})
    fs::resize_file(state, 20);
  auto found = IntakeFiles(folder.path()).readAll();
  REQUIRE(found.size() == 2);
  if (found[0].id() != "12345678") std::swap(found[0], found[1]);
  const Intake& failed = found[0];
  CHECK(failed.id() == "12345678");
  CHECK(failed.state() == Intake::FAILED);
  CHECK(failed.sentence().find("photos are here") != std::string::npos);
  REQUIRE(failed.photos_size() == 2);
  for (const IntakePhoto& photo : failed.photos()) {
    CHECK(photo.state() == IntakePhoto::LOOKING);
    CHECK(photo.sha256() == sha256Hex(readFile(at / photo.label())));
  }
  CHECK(nextPhotoLabel(failed, ".jpg") == "photo-04.jpg");  // No photo is written over.
  CHECK(found[1].state() == Intake::FAILED);
  CHECK(found[1].photos().empty());
  CHECK(found[1].sentence().find("throw it away") != std::string::npos);
}

TEST_CASE("intake files: what a killed program left is swept up, photos on their way are not") {
  TempFolder folder;
  Intake intake = intakeWithPhoto("12345678", Intake::COLLECTING);
  IntakePhoto& coming = addComing(intake);
  const fs::path intakes = folder / "serve" / "intake";
  const fs::path at = intakes / intake.id();
  {
    const IntakeFiles files(folder.path());
    files.create(intake);
    files.addPiece(intake.id(), coming, 0, "abcd");
    std::ofstream(at / "photo-01.jpg") << "photo";
  }
  fs::create_directories(intakes / "0000000a");         // Begun, and nothing was in it yet.
  fs::create_directories(intakes / "0000000b");         // Its first state was being written.
  fs::create_directories(intakes / "0000000c");         // Its state was lost.
  fs::create_directories(intakes / "0000000d.1.part");  // It was being thrown away.
  for (const fs::path& file :
       {intakes / "0000000b" / "intake.json.4711.part", intakes / "0000000c" / "photo-01.jpg",
        intakes / "0000000d.1.part" / "intake.json", at / "photo-02.jpg.4711.part"})
    std::ofstream(file) << "{}";
  const auto sweepAfter = [&](std::chrono::hours hours) {
    for (const auto& entry : fs::recursive_directory_iterator(intakes))
      fs::last_write_time(entry.path(), fs::file_time_type::clock::now() - hours);
    const auto found = IntakeFiles(folder.path()).readAll();
    REQUIRE(found.size() == 1);
    CHECK(found[0].photos(1).received() == 4);
  };
  const auto before = filesIn(intakes);
  sweepAfter(std::chrono::hours(23));
  CHECK(filesIn(intakes) == before);
  CHECK(fs::exists(intakes / "0000000a"));
  sweepAfter(std::chrono::hours(25));
  CHECK_FALSE(fs::exists(intakes / "0000000a"));
  CHECK_FALSE(fs::exists(intakes / "0000000b"));
  CHECK(fs::exists(intakes / "0000000c" / "photo-01.jpg"));
  CHECK_FALSE(fs::exists(intakes / "0000000d.1.part"));
  CHECK_FALSE(fs::exists(at / "photo-02.jpg.4711.part"));
  CHECK(fs::exists(at / "photo-01.jpg"));
}

TEST_CASE("intake files: one program has them") {
  TempFolder folder;
  {
    const IntakeFiles ours(folder.path());
    CHECK(ours.areOurs());
    CHECK_FALSE(IntakeFiles(folder.path()).areOurs());
    CHECK(ours.room() > 0);
  }
  CHECK(IntakeFiles(folder.path()).areOurs());
}

TEST_CASE("intake files: of a stored one its state stays") {
  TempFolder folder;
  const Intake intake = makeFinishedIntake(folder.path(), "12345678");
  const IntakeFiles files(folder.path());
  const fs::path at = files.folderOf(intake.id());
  std::ofstream(at / IntakeFiles::pictureName(intake.photos(0))) << "small";
  CHECK(hasFinished(at));
  files.dropStored(intake);
  std::vector<std::string> left;
  for (const auto& entry : fs::directory_iterator(at)) left.push_back(entry.path().filename());
  CHECK(left == std::vector<std::string>{"intake.json"});
  files.remove(intake);
  CHECK_FALSE(fs::exists(at));
}
