// SPDX-License-Identifier: Apache-2.0
#include "catalog/desk_worker.h"

#include <doctest/doctest.h>

#include <atomic>
#include <vector>

#include "tests/catalog/waiting.h"

using namespace holdshelf;
using namespace holdshelf::test;

TEST_CASE("desk worker: one after another, in the order in which they came") {
  std::atomic<int> at_once = 0, most = 0;
  std::vector<std::string> done;
  std::atomic<std::size_t> count = 0;
  DeskWorker worker([&](const DeskWorker::Task& task, ChildProcess&) {
    most = std::max<int>(most, ++at_once);
    done.push_back(task.intake + task.photo);
    --at_once;
    count = done.size();
  });
  std::vector<std::string> added;
  for (int i = 0; i < 50; ++i) {
    worker.add({std::to_string(i), "a"});
    added.push_back(std::to_string(i) + "a");
  }
  REQUIRE(comesTrue([&] { return count == 50; }));
  worker.end();
  CHECK(most == 1);
  CHECK(done == added);
}

TEST_CASE("desk worker: what is taken out of the line is not done") {
  std::atomic<bool> begun = false, go = false;
  std::vector<std::string> done;
  std::atomic<int> count = 0;
  DeskWorker worker([&](const DeskWorker::Task& task, ChildProcess&) {
    begun = true;
    while (!go) std::this_thread::yield();
    done.push_back(task.intake);
    ++count;
  });
  for (const char* name : {"a", "b", "c"}) worker.add({name, {}});
  REQUIRE(comesTrue([&] { return begun.load(); }));
  worker.remove({"b", {}});
  worker.remove({"a", {}});  // It has begun.
  go = true;
  REQUIRE(comesTrue([&] { return count == 2; }));
  worker.end();
  CHECK(done == std::vector<std::string>{"a", "c"});
}

TEST_CASE("desk worker: at its end the child is ended and what waits is left") {
  TempFolder folder;
  std::atomic<int> status = 0, tasks = 0;
  std::atomic<bool> knew = false;
  DeskWorker* itself = nullptr;
  DeskWorker worker([&](const DeskWorker::Task&, ChildProcess& child) {
    ++tasks;
    status = child.run(shellProgram(folder, kHeld), {}, [](const std::string&) {});
    knew = itself->ending();
  });
  itself = &worker;
  CHECK_FALSE(worker.ending());
  worker.add({"a", {}});
  worker.add({"b", {}});
  REQUIRE(appears(folder / "begun"));
  worker.end();
  CHECK(status == -9);  // SIGKILL, by POSIX numbers of Linux.
  CHECK(tasks == 1);
  CHECK(knew);
  worker.end();  // Once more is nothing.
}
