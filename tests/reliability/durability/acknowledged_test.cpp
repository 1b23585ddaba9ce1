// SPDX-License-Identifier: Apache-2.0
#include "tests/reliability/durability/acknowledged.h"

#include <doctest/doctest.h>

#include "catalog/blob_store.h"
#include "catalog/intake_desk.h"
#include "catalog/intake_files.h"
#include "catalog/library.h"
#include "mesh/sha256.h"
#include "tests/catalog/desk_folder.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;
namespace fs = std::filesystem;

namespace {

void note(const fs::path& folder, const std::string& text) {
  Library library = Library::openOrCreate(folder);
  std::vector<Event> events(1);
  if (library.size() == 0)
    events[0].mutable_created()->set_name(text);
  else
    events[0].set_hold("H-0001"), events[0].set_noted(text);
  library.commit(events);
}

const std::string kId = "0000abcd";
const std::string kPhoto = "\xff\xd8\xff" + std::string(3000, 'x');

/// An intake with a photo of which so much was sent. @return  The file that it is in.
fs::path sentTo(const fs::path& library, std::size_t bytes) {
  (void)Library::openOrCreate(library);
  makeIntakeFolder(library, intakeWithPhoto(kId, Intake::COLLECTING));
  IntakeDesk desk(library, "/bin/false", [](const IntakeMoved&) {});
  IntakePhoto photo;
  photo.set_sha256(sha256Hex(kPhoto));
  photo.set_name("b.jpg");
  photo.set_size(static_cast<std::int64_t>(kPhoto.size()));
  desk.announce(kId, photo);
  const auto now = desk.receive(kId, photo.sha256(), 0, kPhoto.substr(0, bytes));
  REQUIRE(now);
  return IntakeFiles(library).photoFile(kId, *now);
}

}  // namespace

TEST_CASE("acknowledged: what was said to be stored and is not is named") {
  const TempFolder folder;
  note(folder / "l", "first-1");
  note(folder / "l", "second-2");
  Acknowledged told, backup;
  CHECK(
      told.read(
          "ready\nat storing\nstored first-1\nbacked-up 0\nstored second-2\nfault it broke.\nack 1",
          backup) == std::vector<std::string>{"it broke."});
  CHECK(told.events.empty());  // Its line was cut off.
  CHECK(told.lostIn(folder / "l").empty());
  CHECK(told.events.size() == 2);
  CHECK(backup.texts == std::set<std::string>{"first-1"});
  // Said, but never stored: no event that is there tells of it.
  told.read("stored third-3\n", backup);
  const auto lost = told.lostIn(folder / "l");
  REQUIRE(lost.size() == 1);
  CHECK(lost[0].find("third-3") != std::string::npos);
  told.read("ack 2 0000\nack 3 0000\n", backup);
  CHECK(told.lostIn(folder / "l").size() == 3);
}

TEST_CASE("acknowledged: the bytes of photos are read, whatever the intake's state says") {
  const std::size_t whole = kPhoto.size(), part = 2000;
  for (const std::size_t bytes : {part, whole}) {
    CAPTURE(bytes);
    const TempFolder folder;
    const fs::path file = sentTo(folder / "l", bytes);
    Acknowledged told, backup;
    told.read("piece " + kId + " " + sha256Hex(kPhoto) + " " + std::to_string(bytes) + " " +
                  sha256Hex(kPhoto.substr(0, bytes)) + "\n",
              backup);
    const auto lost = [&] { return told.lostIn(folder / "l"); };
    CHECK(lost().empty());
    std::string other = readFile(file);
    REQUIRE(other.size() == bytes);
    other[1500] = 'y';
    writeFileDurably(file, other);
    REQUIRE(lost().size() == 1);
    CHECK(lost()[0].find("others are there") != std::string::npos);
    fs::resize_file(file, 1000);
    REQUIRE(lost().size() == 1);
    CHECK(lost()[0].find(" 1000 are") != std::string::npos);
    fs::resize_file(file, 0);
    CHECK(lost().size() == 1);
  }
}
