// SPDX-License-Identifier: Apache-2.0
#include "catalog/desk_rebuilds.h"

#include <doctest/doctest.h>

#include "tests/catalog/desk_folder.h"
#include "tests/catalog/waiting.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

const std::string kId = "12345678";

struct WaitingIntake {
  TempFolder folder;
  std::vector<std::string> steps;  ///< Those told, with the lock held.
  OpenIntakes intakes{folder.path(),
                      [this](const IntakeMoved& moved) { steps.push_back(moved.step()); }};

  WaitingIntake() {
    const Intake intake = intakeWithPhoto(kId, Intake::WAITING);
    intakes.files().create(intake);
    const OpenIntakes::Lock lock = intakes.lock();
    intakes.add(intake);
  }
  Intake now() {
    const OpenIntakes::Lock lock = intakes.lock();
    return intakes.find(kId);
  }
  bool becomes(Intake::State state) {
    return comesTrue([&] { return now().state() == state; });
  }
};

}  // namespace

TEST_CASE("desk rebuilds: done, its results are on the form and a person may choose") {
  WaitingIntake waiting;
  // A finished scan, kept elsewhere until the child brings it.
  makeFinishedIntake(waiting.folder / "other", kId);
  const std::string made = (waiting.folder / "other" / "serve" / "intake" / kId).string();
  DeskRebuilds rebuilds(
      waiting.intakes,
      shellProgram(waiting.folder, "for f in '" + made +
                                       "'/*; do case $f in *intake.json|*.jpg) ;; "
                                       "*) cp \"$f\" serve/intake/" +
                                       kId + "/;; esac; done; echo 'step 0.5 dense depth'"),
      waiting.folder.path());
  rebuilds.add(kId);
  REQUIRE(waiting.becomes(Intake::CHOOSING));
  const Intake done = waiting.now();
  CHECK(done.done() == 1);
  CHECK(done.step().empty());
  CHECK(done.has_scan());
  CHECK(done.photos_size() == 1);
  CHECK(waiting.steps == std::vector<std::string>{"starting", "dense depth", ""});
  CHECK(waiting.intakes.files().readAll().front().state() == Intake::CHOOSING);
}

TEST_CASE("desk rebuilds: one that fails says why, one that ends by itself says how") {
  for (const auto& [shell, sentence] :
       {std::pair{"echo 'failed No mat was found.'; exit 3", "No mat was found."},
        std::pair{"kill -KILL $$", "(-9)"}}) {  // SIGKILL, by POSIX numbers of Linux.
    CAPTURE(sentence);
    WaitingIntake waiting;
    DeskRebuilds rebuilds(waiting.intakes, shellProgram(waiting.folder, shell),
                          waiting.folder.path());
    rebuilds.add(kId);
    REQUIRE(waiting.becomes(Intake::FAILED));
    CHECK(waiting.now().sentence().find(sentence) != std::string::npos);
  }
}

TEST_CASE("desk rebuilds: why one fails is said without where the library is") {
  WaitingIntake waiting;
  const std::string place = waiting.folder.path().string();
  DeskRebuilds rebuilds(
      waiting.intakes, shellProgram(waiting.folder, "echo 'failed No mat in " + place + "/a.jpg.'"),
      waiting.folder.path());
  rebuilds.add(kId);
  REQUIRE(waiting.becomes(Intake::FAILED));
  CHECK(waiting.now().sentence() ==
        "No mat in " + waiting.folder.path().filename().string() + "/a.jpg.");
}

TEST_CASE("desk rebuilds: one that is stopped is left as it is, and can begin again") {
  WaitingIntake waiting;
  DeskRebuilds rebuilds(waiting.intakes, shellProgram(waiting.folder, kHeld),
                        waiting.folder.path());
  const auto stop = [&] {
    const OpenIntakes::Lock lock = waiting.intakes.lock();
    Intake& intake = waiting.intakes.find(kId);
    rebuilds.stop(intake);
    intake.set_state(Intake::COLLECTING);
  };
  rebuilds.add(kId);
  REQUIRE(appears(waiting.folder / "begun"));
  stop();
  std::filesystem::remove(waiting.folder / "begun");
  rebuilds.add(kId);  // Its turn comes while nobody waits for it.
  std::this_thread::sleep_for(std::chrono::milliseconds(50));
  CHECK(waiting.now().state() == Intake::COLLECTING);
  CHECK_FALSE(std::filesystem::exists(waiting.folder / "begun"));
  {
    const OpenIntakes::Lock lock = waiting.intakes.lock();
    waiting.intakes.find(kId).set_state(Intake::WAITING);
  }
  rebuilds.add(kId);
  CHECK(appears(waiting.folder / "begun"));
  CHECK(waiting.now().state() == Intake::RUNNING);
}
