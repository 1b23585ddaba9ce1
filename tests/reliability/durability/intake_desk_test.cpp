// SPDX-License-Identifier: Apache-2.0
// The server's intake desk on a disk that goes wrong.
#include "catalog/intake_desk.h"

#include <doctest/doctest.h>

#include <chrono>
#include <memory>
#include <thread>
#include <vector>

#include "catalog/blob_store.h"
#include "catalog/intake_files.h"
#include "catalog/library.h"
#include "catalog/library_check.h"
#include "mesh/bad_input.h"
#include "tests/catalog/desk_folder.h"
#include "tests/catalog/temp_folder.h"
#include "tests/reliability/durability/each_step.h"
#include "tests/reliability/durability/faulty_disk.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

const std::string kId = "0000abcd";

std::unique_ptr<IntakeDesk> openDesk(const TempFolder& folder,
                                     const std::filesystem::path& program = "/bin/false") {
  return std::make_unique<IntakeDesk>(folder / "l", program, [](const IntakeMoved&) {});
}

bool becomes(IntakeDesk& desk, Intake::State state) {
  for (int i = 0; i < 1000; ++i) {
    if (desk.get(kId).state() == state) return true;
    std::this_thread::sleep_for(std::chrono::milliseconds(10));
  }
  return false;
}

/// Stores at a disk that goes wrong at each `step`-th write, then once more.
void storeAtEach(int step) {
  IntakeDecision decision;
  decision.set_kind(IntakeDecision::NEW);
  for (const DiskFault fault :
       {DiskFault::Full, DiskFault::WriteError, DiskFault::SyncError, DiskFault::PowerCut}) {
    bool happened = true;
    int at = 1;
    for (; happened; at += step) {
      CAPTURE(static_cast<int>(fault));
      CAPTURE(at);
      REQUIRE(at < 500);
      TempFolder folder;
      (void)Library::openOrCreate(folder / "l");
      makeFinishedIntake(folder / "l", kId);
      FaultyDisk disk(folder / "l");
      auto desk = openDesk(folder);
      disk.arm(fault, at, static_cast<unsigned>(at));
      try {
        (void)desk->store(kId, decision, "Kim");
      } catch (const std::exception&) {  // It may say so; it is tried again.
      }
      happened = disk.happened();
      if (at % 2 == 0 || fault == DiskFault::PowerCut) desk.reset();
      disk.restart();
      if (!desk) desk = openDesk(folder);
      CHECK(desk->store(kId, decision, "Kim").stored_as() == "H-0001");
      const Library library = Library::open(folder / "l");
      CHECK(library.size() == 1);
      CHECK(library.hold("H-0001").scans_size() == 1);
    }
    CHECK(at > 20);
  }
}

/// What a phone was told of its photos.
struct Told {
  std::vector<std::string> announced, whole;  ///< SHA-256.
};

std::string photoBytes(int number) {
  return "\xff\xd8\xff" + std::string(2000, static_cast<char>('a' + number));
}

/// Sends a photo from where it is, in pieces. @return  Whether the server has all of it.
bool send(IntakeDesk& desk, const std::string& bytes) {
  const std::string sha256 = sha256Hex(bytes);
  while (desk.photo(kId, sha256).state() == IntakePhoto::UPLOADING) {
    const std::int64_t from = desk.photo(kId, sha256).received();
    if (!desk.receive(kId, sha256, from, bytes.substr(static_cast<std::size_t>(from), 800)))
      return false;
  }
  return true;
}

void sendAll(const TempFolder& folder, Told& told) {
  const auto desk = openDesk(folder);
  for (int number = 0; number < 2; ++number) {
    const std::string bytes = photoBytes(number);
    IntakePhoto photo;
    photo.set_sha256(sha256Hex(bytes));
    photo.set_size(static_cast<std::int64_t>(bytes.size()));
    desk->announce(kId, photo);
    told.announced.push_back(photo.sha256());
    if (send(*desk, bytes)) told.whole.push_back(photo.sha256());
  }
}

/// What was acknowledged is there, and what was not can be sent on.
void checkTold(const TempFolder& folder, const Told& told) {
  const auto desk = openDesk(folder);
  const IntakeFiles files(folder / "l");
  for (const std::string& sha256 : told.announced)
    CHECK(desk->photo(kId, sha256).sha256() == sha256);
  for (const std::string& sha256 : told.whole) {
    const IntakePhoto photo = desk->photo(kId, sha256);
    CHECK(photo.state() != IntakePhoto::UPLOADING);
    CHECK(sha256Hex(readFile(files.photoFile(kId, photo))) == sha256);
  }
  for (std::size_t number = 0; number < told.announced.size(); ++number) {
    const std::string bytes = photoBytes(static_cast<int>(number));
    try {
      CHECK(send(*desk, bytes));
    } catch (const BadInput& damaged) {  // A piece of which the disk kept a part: sent once more.
      CHECK(std::string(damaged.what()).find("arrived damaged") != std::string::npos);
      CHECK(send(*desk, bytes));
    }
    CHECK(readFile(files.photoFile(kId, desk->photo(kId, sha256Hex(bytes)))) == bytes);
  }
}

/// Sends photos to a disk that goes wrong at each stride-th step.
void sendAtEach(long stride) {
  for (const DiskFault fault :
       {DiskFault::PowerCut, DiskFault::Full, DiskFault::WriteError, DiskFault::SyncError}) {
    Told told;
    const long steps =
        failAtEachStep(fault, stride,
                       {[&](const TempFolder& folder) {
                          told = {};
                          (void)Library::openOrCreate(folder / "l");
                          makeIntakeFolder(folder / "l", intakeWithPhoto(kId, Intake::COLLECTING));
                        },
                        [&](const TempFolder& folder) { sendAll(folder, told); },
                        [&](const TempFolder& folder, bool said) {
                          if (said) CHECK(told.whole.size() == 2);
                          checkTold(folder, told);
                        }});
    CHECK(steps > 20);
  }
}

}  // namespace

TEST_CASE("intake desk: stored once, at whichever write the disk goes wrong") { storeAtEach(9); }

TEST_CASE("intake desk: the same at each single step" * doctest::skip()) { storeAtEach(1); }

TEST_CASE("intake desk: a photo that was acknowledged is there, whatever the disk does") {
  sendAtEach(4);
}

TEST_CASE("intake desk: sent at each single step, a photo is there" * doctest::skip()) {
  sendAtEach(1);
}

TEST_CASE("intake desk: begun on a full disk, a rebuild fails and the server goes on") {
  TempFolder folder;
  (void)Library::openOrCreate(folder / "l");
  makeIntakeFolder(folder / "l", intakeWithPhoto(kId, Intake::RUNNING));
  FaultyDisk disk(folder / "l");
  disk.arm(DiskFault::Full, 1, 1);
  auto desk = openDesk(folder);
  CHECK(becomes(*desk, Intake::FAILED));
  CHECK(disk.happened());
}

TEST_CASE("intake desk: what cannot be written down has not begun") {
  TempFolder folder;
  (void)Library::openOrCreate(folder / "l");
  makeIntakeFolder(folder / "l", intakeWithPhoto(kId, Intake::COLLECTING));
  FaultyDisk disk(folder / "l");
  auto desk = openDesk(folder);
  disk.arm(DiskFault::Full, 1, 1);
  CHECK_THROWS(desk->start(kId));
  CHECK(disk.happened());
  CHECK(desk->get(kId).state() == Intake::COLLECTING);

  const std::string bytes = "\xff\xd8\xff whole";
  IntakePhoto photo;
  photo.set_sha256(sha256Hex(bytes));
  photo.set_size(static_cast<std::int64_t>(bytes.size()));
  disk.restart();
  desk->announce(kId, photo);
  disk.arm(DiskFault::Full, 1, 1);  // Half of the bytes.
  CHECK_THROWS_WITH(desk->receive(kId, photo.sha256(), 0, bytes),
                    "the photo cannot be written: No space left on device");
  CHECK(disk.happened());
  CHECK(desk->photo(kId, photo.sha256()).received() == 0);
  disk.restart();
  disk.arm(DiskFault::Full, 2, 1);
  CHECK_THROWS(desk->receive(kId, photo.sha256(), 0, bytes));
  CHECK(disk.happened());
  CHECK(desk->photo(kId, photo.sha256()).state() == IntakePhoto::UPLOADING);
  disk.restart();
  const auto whole = desk->receive(kId, photo.sha256(), photo.size(), "");
  REQUIRE(whole);
  CHECK(whole->label() == "photo-02.jpg");
}

TEST_CASE("intake desk: what is no photo stays on the form where the disk cannot take it off") {
  TempFolder folder;
  (void)Library::openOrCreate(folder / "l");
  makeIntakeFolder(folder / "l", intakeWithPhoto(kId, Intake::COLLECTING));
  FaultyDisk disk(folder / "l");
  auto desk = openDesk(folder);
  IntakePhoto photo;
  photo.set_sha256(sha256Hex("GIF89a"));
  photo.set_size(6);
  desk->announce(kId, photo);
  disk.arm(DiskFault::Full, 1, 1);
  CHECK_THROWS(desk->receive(kId, photo.sha256(), 0, "GIF89a"));
  CHECK(disk.happened());
  CHECK(desk->get(kId).photos_size() == 2);
  disk.restart();
  CHECK_THROWS_AS(desk->receive(kId, photo.sha256(), 0, "GIF89a"), BadInput);
  CHECK(desk->get(kId).photos_size() == 1);
}

TEST_CASE("intake desk: a rebuild whose end the disk does not take goes on") {
  TempFolder folder;
  (void)Library::openOrCreate(folder / "l");
  makeIntakeFolder(folder / "l", intakeWithPhoto(kId, Intake::WAITING));
  const std::filesystem::path program = folder / "slow";
  writeFileDurably(program, "#!/bin/sh\nexec sleep 60\n");
  std::filesystem::permissions(program, std::filesystem::perms::owner_all);
  FaultyDisk disk(folder / "l");
  auto desk = openDesk(folder, program);
  REQUIRE(becomes(*desk, Intake::RUNNING));
  disk.arm(DiskFault::Full, 1, 1);
  CHECK_THROWS(desk->cancel(kId));
  CHECK(disk.happened());
  CHECK(desk->get(kId).state() == Intake::RUNNING);
  disk.restart();
  CHECK(desk->cancel(kId).state() == Intake::COLLECTING);
}

TEST_CASE("intake desk: one whose state the disk does not give is not taken for thrown away") {
  TempFolder folder;
  (void)Library::openOrCreate(folder / "l");
  makeIntakeFolder(folder / "l", intakeWithPhoto(kId, Intake::COLLECTING));
  FaultyDisk disk(folder / "l" / "serve" / "intake");
  disk.arm(DiskFault::ReadError, 1, 1);
  CHECK_THROWS_WITH_AS(openDesk(folder), doctest::Contains("intake.json cannot be read"), BadInput);
  CHECK(disk.happened());
  disk.restart();
  CHECK(openDesk(folder)->get(kId).photos_size() == 1);
}

TEST_CASE("intake desk: a photo that the disk does not give is not taken for damaged") {
  TempFolder folder;
  (void)Library::openOrCreate(folder / "l");
  makeIntakeFolder(folder / "l", intakeWithPhoto(kId, Intake::COLLECTING));
  FaultyDisk disk(folder / "l" / "serve" / "intake");
  auto desk = openDesk(folder);
  const std::string bytes = "\xff\xd8\xff whole";
  IntakePhoto photo;
  photo.set_sha256(sha256Hex(bytes));
  photo.set_size(static_cast<std::int64_t>(bytes.size()));
  desk->announce(kId, photo);
  disk.arm(DiskFault::ReadError, 1, 1);
  CHECK_THROWS_WITH_AS(desk->receive(kId, photo.sha256(), 0, bytes),
                       doctest::Contains("cannot be read"), BadInput);
  CHECK(disk.happened());
  disk.restart();
  CHECK(desk->photo(kId, photo.sha256()).received() == photo.size());
  const auto whole = desk->receive(kId, photo.sha256(), photo.size(), "");  // Not sent again.
  REQUIRE(whole);
  CHECK(whole->label() == "photo-02.jpg");
}
