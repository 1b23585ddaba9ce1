// SPDX-License-Identifier: Apache-2.0
#include "catalog/intake_photos.h"

#include <doctest/doctest.h>

#include <optional>

#include "catalog/blob_store.h"
#include "mesh/bad_input.h"
#include "tests/catalog/desk_folder.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

const std::string kJpeg = "\xff\xd8\xff in pieces";  // Begins as ISO/IEC 10918-1, B.1.1.3 says.

/// A disk that has as much room as it is told.
class Disk : public IntakeFiles {
 public:
  using IntakeFiles::IntakeFiles;
  std::optional<std::uintmax_t> told;
  std::uintmax_t room() const override { return told.value_or(IntakeFiles::room()); }
};

/// An intake on the disk.
struct Desk {
  TempFolder folder;
  Disk files{folder.path()};
  Intake intake = intakeWithPhoto("12345678", Intake::COLLECTING);
  Desk() { files.create(intake); }

  IntakePhoto& announce(const std::string& bytes) {
    IntakePhoto photo;
    photo.set_sha256(sha256Hex(bytes));
    photo.set_size(static_cast<std::int64_t>(bytes.size()));
    (void)announcePhoto(files, intake, photo);
    return *intake.mutable_photos()->rbegin();
  }
  PieceEnd receive(IntakePhoto& photo, std::int64_t offset, std::string_view bytes) {
    return receivePiece(files, intake, photo, offset, bytes);
  }
};

}  // namespace

TEST_CASE("intake photos: in pieces, each where the last one ended") {
  Desk desk;
  IntakePhoto& photo = desk.announce(kJpeg);
  CHECK(desk.receive(photo, 0, kJpeg.substr(0, 5)) == PieceEnd::Taken);
  CHECK(desk.receive(photo, 0, kJpeg.substr(0, 5)) == PieceEnd::Elsewhere);
  CHECK(desk.receive(photo, 6, kJpeg.substr(6)) == PieceEnd::Elsewhere);
  CHECK(photo.received() == 5);
  CHECK(desk.receive(photo, 5, kJpeg.substr(5)) == PieceEnd::Whole);
  CHECK(photo.state() == IntakePhoto::LOOKING);
  CHECK(photo.label() == "photo-02.jpg");
  CHECK(readFile(desk.files.photoFile(desk.intake.id(), photo)) == kJpeg);
  CHECK(desk.receive(photo, 0, kJpeg) == PieceEnd::Known);
  const Intake kept = desk.files.readAll().front();
  CHECK(kept.photos(1).label() == "photo-02.jpg");
}

TEST_CASE("intake photos: one that arrived damaged is sent again from its beginning") {
  Desk desk;
  IntakePhoto& photo = desk.announce(kJpeg);
  std::string damaged = kJpeg;
  damaged.back() ^= 1;
  CHECK_THROWS_AS(desk.receive(photo, 0, damaged), BadInput);
  CHECK(photo.received() == 0);
  CHECK(photo.state() == IntakePhoto::UPLOADING);
  CHECK(desk.receive(photo, 0, kJpeg) == PieceEnd::Whole);
}

TEST_CASE("intake photos: what is no photo goes, more bytes than announced are not taken") {
  Desk desk;
  IntakePhoto& text = desk.announce("GIF89a");
  CHECK_THROWS_AS(desk.receive(text, 0, "GIF89a"), BadInput);
  CHECK(desk.intake.photos_size() == 1);
  CHECK(desk.files.readAll().front().photos_size() == 1);
  IntakePhoto& photo = desk.announce(kJpeg);
  CHECK_THROWS_AS(desk.receive(photo, 0, kJpeg + "!"), BadInput);
  CHECK(photo.received() == 0);
}

TEST_CASE(
    "intake photos: of one that is in the library nothing more is taken, and nothing is left") {
  Desk desk;
  IntakePhoto& photo = desk.announce(kJpeg);
  desk.intake.set_state(Intake::STORED);
  CHECK_THROWS_WITH_AS(desk.receive(photo, 0, kJpeg), doctest::Contains("in the library already"),
                       BadInput);
  CHECK(photo.state() == IntakePhoto::UPLOADING);
  CHECK_FALSE(std::filesystem::exists(desk.files.photoFile(desk.intake.id(), photo)));
}

TEST_CASE("intake photos: what may be announced") {
  Desk desk;
  IntakePhoto photo;
  photo.set_size(8);
  photo.set_sha256("../x");
  CHECK_THROWS_AS(announcePhoto(desk.files, desk.intake, photo), BadInput);
  photo.set_sha256(std::string(64, 'b'));
  for (const std::int64_t size : {std::int64_t{0}, std::int64_t{-1}, kMostPhotoBytes + 1}) {
    photo.set_size(size);
    CHECK_THROWS_AS(announcePhoto(desk.files, desk.intake, photo), BadInput);
  }
  photo.set_size(kMostPhotoBytes);
  CHECK(announcePhoto(desk.files, desk.intake, photo).state() == IntakePhoto::UPLOADING);
  photo.set_size(1);
  CHECK(announcePhoto(desk.files, desk.intake, photo).size() == kMostPhotoBytes);  // Known.
  CHECK(desk.intake.photos_size() == 2);
  desk.intake.set_state(Intake::RUNNING);
  photo.set_sha256(std::string(64, 'c'));
  CHECK_THROWS_AS(announcePhoto(desk.files, desk.intake, photo), BadInput);
  desk.intake.set_state(Intake::COLLECTING);
  while (desk.intake.photos_size() < kMostPhotos) desk.intake.add_photos();
  CHECK_THROWS_AS(announcePhoto(desk.files, desk.intake, photo), BadInput);
}

TEST_CASE("intake photos: a disk that fills up after they were announced takes no more of them") {
  constexpr std::uintmax_t kKeptFree = 1ULL << 30;
  Desk desk;
  desk.files.told = kKeptFree + kJpeg.size();
  IntakePhoto& photo = desk.announce(kJpeg);
  const auto isRefused = [&](std::int64_t offset, std::string_view bytes) {
    const std::int64_t before = photo.received();
    CHECK_THROWS_WITH_AS(desk.receive(photo, offset, bytes),
                         doctest::Contains("less than 1 GB of room left"), NoRoom);
    CHECK(photo.received() == before);
    CHECK(photo.state() == IntakePhoto::UPLOADING);
  };
  desk.files.told = kKeptFree + 4;
  isRefused(0, kJpeg.substr(0, 5));
  desk.files.told = kKeptFree + 5;
  CHECK(desk.receive(photo, 0, kJpeg.substr(0, 5)) == PieceEnd::Taken);
  // The last piece makes a whole photo of it, beside what has come in.
  desk.files.told = kKeptFree + kJpeg.size() + (kJpeg.size() - 5) - 1;
  isRefused(5, kJpeg.substr(5));
  ++*desk.files.told;
  CHECK(desk.receive(photo, 5, kJpeg.substr(5)) == PieceEnd::Whole);
}

TEST_CASE("intake photos: one that is taken off is gone from the form and the disk") {
  Desk desk;
  IntakePhoto& photo = desk.announce(kJpeg);
  desk.receive(photo, 0, kJpeg);
  const std::filesystem::path file = desk.files.photoFile(desk.intake.id(), photo);
  REQUIRE(std::filesystem::exists(file));
  removePhoto(desk.files, desk.intake, photo);
  CHECK(desk.intake.photos_size() == 1);
  CHECK(desk.files.readAll().front().photos_size() == 1);
  CHECK_FALSE(std::filesystem::exists(file));
  desk.intake.set_state(Intake::STORED);
  CHECK_THROWS_AS(removePhoto(desk.files, desk.intake, desk.intake.photos(0)), BadInput);
}
