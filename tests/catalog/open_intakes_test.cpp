// SPDX-License-Identifier: Apache-2.0
#include "catalog/open_intakes.h"

#include <doctest/doctest.h>

#include <atomic>
#include <stdexcept>
#include <vector>

#include "mesh/bad_input.h"
#include "tests/catalog/desk_folder.h"
#include "tests/catalog/waiting.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

/// On the disk and in memory.
Intake& put(OpenIntakes& intakes, const std::string& id, Intake::State state) {
  const Intake intake = intakeWithPhoto(id, state);
  intakes.files().create(intake);
  return intakes.add(intake);
}

}  // namespace

TEST_CASE("open intakes: found by name, or said that there is none") {
  TempFolder folder;
  OpenIntakes intakes(folder.path(), [](const IntakeMoved&) {});
  OpenIntakes::Lock lock = intakes.lock();
  Intake& intake = put(intakes, "12345678", Intake::COLLECTING);
  put(intakes, "87654321", Intake::STORED);
  CHECK(intakes.countOpen() == 1);
  CHECK(&intakes.find("12345678") == &intake);
  CHECK(intakes.look("00000000") == nullptr);
  CHECK_THROWS_AS((void)intakes.find("00000000"), BadInput);
  CHECK_THROWS_AS((void)intakes.findToChange(lock, "00000000"), BadInput);
  CHECK(OpenIntakes::findPhoto(intake, std::string(64, 'a')).label() == "photo-01.jpg");
  CHECK_THROWS_AS(OpenIntakes::findPhoto(intake, std::string(64, 'b')), BadInput);
  intakes.remove("12345678");
  CHECK(intakes.look("12345678") == nullptr);
  CHECK_FALSE(std::filesystem::exists(intakes.files().folderOf("12345678")));
}

TEST_CASE("open intakes: a list has the newest first, without photos and results") {
  TempFolder folder;
  OpenIntakes intakes(folder.path(), [](const IntakeMoved&) {});
  const OpenIntakes::Lock lock = intakes.lock();
  put(intakes, "00000001", Intake::COLLECTING).set_created_at("2026-01-02T03:04:05Z");
  Intake& newer = put(intakes, "00000000", Intake::FAILED);
  newer.set_created_at("2026-01-02T03:04:06Z");
  newer.set_sentence("No mat.");
  newer.add_words()->set_word("edge");
  const IntakeList list = intakes.list();
  REQUIRE(list.intakes_size() == 2);
  CHECK(list.intakes(0).id() == "00000000");
  CHECK(list.intakes(0).sentence() == "No mat.");
  CHECK(list.intakes(0).photos().empty());
  CHECK(list.intakes(0).words().empty());
  CHECK(newer.photos_size() == 1);
}

TEST_CASE("open intakes: a change is on the disk before it is seen; who wants to hear is told") {
  TempFolder folder;
  std::vector<IntakeMoved> moves;
  OpenIntakes intakes(folder.path(), [&](const IntakeMoved& moved) { moves.push_back(moved); });
  const OpenIntakes::Lock lock = intakes.lock();
  Intake& intake = put(intakes, "12345678", Intake::COLLECTING);
  Intake changed = intake;
  changed.set_state(Intake::WAITING);
  changed.set_step("waiting for its turn");
  intakes.change(intake, changed);
  CHECK(intake.state() == Intake::WAITING);
  CHECK(intakes.files().readAll().front().state() == Intake::WAITING);
  std::filesystem::remove_all(intakes.files().folderOf("12345678"));
  changed.set_state(Intake::COLLECTING);
  CHECK_THROWS(intakes.change(intake, changed));
  CHECK(intake.state() == Intake::WAITING);
  intakes.tell(intake, "abc");
  REQUIRE(moves.size() == 1);
  CHECK(moves[0].id() == "12345678");
  CHECK(moves[0].state() == Intake::WAITING);
  CHECK(moves[0].step() == "waiting for its turn");
  CHECK(moves[0].photo() == "abc");
}

TEST_CASE("open intakes: what is worked on aside can be looked at, and be changed afterwards") {
  TempFolder folder;
  OpenIntakes intakes(folder.path(), [](const IntakeMoved&) {});
  {
    const OpenIntakes::Lock lock = intakes.lock();
    put(intakes, "12345678", Intake::CHOOSING);
    put(intakes, "87654321", Intake::COLLECTING);
  }
  std::atomic<bool> begun = false, go = false, changed = false;
  std::thread working([&] {
    OpenIntakes::Lock lock = intakes.lock();
    CHECK(intakes.aside(lock, "12345678", [&] {
      begun = true;
      while (!go) std::this_thread::yield();
      CHECK_FALSE(changed);
      return 42;
    }) == 42);
    CHECK(lock.owns_lock());
  });
  REQUIRE(comesTrue([&] { return begun.load(); }));
  {
    OpenIntakes::Lock lock = intakes.lock();
    CHECK(intakes.find("12345678").state() == Intake::CHOOSING);
    CHECK(intakes.findToChange(lock, "87654321").state() == Intake::COLLECTING);
  }
  std::thread changing([&] {
    OpenIntakes::Lock lock = intakes.lock();
    (void)intakes.findToChange(lock, "12345678");
    changed = true;
  });
  std::this_thread::sleep_for(std::chrono::milliseconds(50));
  go = true;
  working.join();
  changing.join();
  CHECK(changed);
}

TEST_CASE("open intakes: work aside that fails leaves the intake free") {
  TempFolder folder;
  OpenIntakes intakes(folder.path(), [](const IntakeMoved&) {});
  OpenIntakes::Lock lock = intakes.lock();
  put(intakes, "12345678", Intake::CHOOSING);
  CHECK_THROWS_AS(intakes.aside(lock, "12345678", [] { throw std::runtime_error("disk"); }),
                  std::runtime_error);
  CHECK(lock.owns_lock());
  CHECK(intakes.findToChange(lock, "12345678").state() == Intake::CHOOSING);
}
