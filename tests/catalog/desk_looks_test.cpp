// SPDX-License-Identifier: Apache-2.0
#include "catalog/desk_looks.h"

#include <doctest/doctest.h>

#include "catalog/blob_store.h"
#include "tests/catalog/desk_folder.h"
#include "tests/catalog/waiting.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

const std::string kId = "12345678";

/// An intake whose one photo waits to be looked at.
struct WaitingPhoto {
  TempFolder folder;
  OpenIntakes intakes{folder.path(), [](const IntakeMoved&) {}};
  std::string sha256;

  WaitingPhoto() {
    Intake intake = intakeWithPhoto(kId, Intake::COLLECTING);
    intake.mutable_photos(0)->set_state(IntakePhoto::LOOKING);
    sha256 = intake.photos(0).sha256();
    intakes.files().create(intake);
    const OpenIntakes::Lock lock = intakes.lock();
    intakes.add(intake);
  }
  bool isLookedAt() {
    const OpenIntakes::Lock lock = intakes.lock();
    return intakes.find(kId).photos(0).state() == IntakePhoto::LOOKED;
  }
};

}  // namespace

TEST_CASE("desk looks: what the child saw is on the form and on the disk") {
  WaitingPhoto waiting;
  DeskLooks looks(waiting.intakes,
                  shellProgram(waiting.folder, "echo '{\"usable\":true,\"sentence\":\"Sharp.\"}'"));
  {
    const OpenIntakes::Lock lock = waiting.intakes.lock();
    looks.addWaiting(waiting.intakes.find(kId));
  }
  REQUIRE(comesTrue([&] { return waiting.isLookedAt(); }));
  const OpenIntakes::Lock lock = waiting.intakes.lock();
  CHECK(waiting.intakes.find(kId).photos(0).look().sentence() == "Sharp.");
  CHECK(waiting.intakes.find(kId).coverage().usable() == 1);
  CHECK(waiting.intakes.files().readAll().front().photos(0).look().usable());
}

TEST_CASE("desk looks: a look that could not be begun is begun later") {
  WaitingPhoto waiting;
  const std::filesystem::path program = shellProgram(waiting.folder, "echo '{\"usable\":true}'"),
                              away = waiting.folder / "away";
  std::filesystem::rename(program, away);
  DeskLooks looks(waiting.intakes, program, std::chrono::milliseconds(10));
  looks.add(kId, waiting.sha256);
  std::this_thread::sleep_for(std::chrono::milliseconds(50));
  CHECK_FALSE(waiting.isLookedAt());
  std::filesystem::rename(away, program);
  CHECK(comesTrue([&] { return waiting.isLookedAt(); }));
}

TEST_CASE("desk looks: a photo that was thrown away meanwhile gets nothing of it") {
  WaitingPhoto waiting;
  DeskLooks looks(waiting.intakes,
                  shellProgram(waiting.folder, std::string(kHeld) + "echo '{\"usable\":true}'\n"
                                                                    "echo x >> looks"));
  looks.add(kId, waiting.sha256);
  REQUIRE(appears(waiting.folder / "begun"));
  {
    const OpenIntakes::Lock lock = waiting.intakes.lock();
    waiting.intakes.find(kId).mutable_photos(0)->set_label("photo-02.jpg");  // Given again.
  }
  looks.add(kId, waiting.sha256);
  std::ofstream(waiting.folder / "go").flush();
  REQUIRE(comesTrue([&] { return waiting.isLookedAt(); }));
  CHECK(readFile(waiting.folder / "looks") == "x\nx\n");
}

TEST_CASE("desk looks: with the mat that it had at first again, a photo is looked at anew") {
  WaitingPhoto waiting;
  DeskLooks looks(waiting.intakes,
                  shellProgram(waiting.folder, std::string(kHeld) + "echo '{\"usable\":true}'\n"
                                                                    "echo x >> looks"));
  const auto changeMat = [&](const char* name) {
    const OpenIntakes::Lock lock = waiting.intakes.lock();
    Intake& intake = waiting.intakes.find(kId);
    Intake changed = intake;
    changed.mutable_mat()->set_name(name);
    waiting.intakes.change(intake, changed);
    looks.addWaiting(intake);
  };
  looks.add(kId, waiting.sha256);
  REQUIRE(appears(waiting.folder / "begun"));
  changeMat("another");  // Which the child may read as well.
  changeMat("");
  std::ofstream(waiting.folder / "go").flush();
  REQUIRE(comesTrue([&] { return waiting.isLookedAt(); }));
  CHECK(readFile(waiting.folder / "looks") == "x\nx\n");
}

TEST_CASE(
    "desk looks: a photo that uses up its child's time is looked at once, also after a restart") {
  WaitingPhoto waiting;
  // As the kernel ends who is past the hard limit of its time, without a second of it.
  const auto program = shellProgram(waiting.folder, "echo x >> looks; kill -KILL $$");
  for (int start = 0; start < 2; ++start) {
    DeskLooks looks(waiting.intakes, program);
    {
      const OpenIntakes::Lock lock = waiting.intakes.lock();
      looks.addWaiting(waiting.intakes.files().readAll().front());
    }
    looks.add(kId, waiting.sha256);
    REQUIRE(comesTrue([&] { return waiting.isLookedAt(); }));
    std::this_thread::sleep_for(std::chrono::milliseconds(50 * start));
  }
  CHECK(readFile(waiting.folder / "looks") == "x\n");
  const OpenIntakes::Lock lock = waiting.intakes.lock();
  CHECK(waiting.intakes.find(kId).photos(0).look().sentence() ==
        "It cannot be read: its file is damaged.");
  CHECK_FALSE(waiting.intakes.find(kId).photos(0).look().usable());
}

TEST_CASE("desk looks: no program to look with leaves the photo waiting") {
  WaitingPhoto waiting;
  {
    DeskLooks looks(waiting.intakes, waiting.folder / "none");
    looks.add(kId, waiting.sha256);
    looks.add("00000000", waiting.sha256);  // An intake thrown away since.
    std::this_thread::sleep_for(std::chrono::milliseconds(50));
  }
  CHECK_FALSE(waiting.isLookedAt());
}
