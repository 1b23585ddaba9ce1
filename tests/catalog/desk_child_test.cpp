// SPDX-License-Identifier: Apache-2.0
#include "catalog/desk_child.h"

#include <doctest/doctest.h>

#include "catalog/blob_store.h"
#include "tests/catalog/waiting.h"

using namespace holdshelf;
using namespace holdshelf::test;
namespace fs = std::filesystem;

namespace {

/// A program that writes down its words and then does this.
fs::path program(const TempFolder& folder, const std::string& shell) {
  return shellProgram(folder, "echo \"$@\" > words\n" + shell);
}

}  // namespace

TEST_CASE("desk child: a look at a photo is what the child says last") {
  TempFolder folder;
  ChildProcess child;
  const LookEnd end = lookInChild(
      child, program(folder, "echo 'no JSON'; echo '{\"usable\":true,\"sentence\":\"Sharp.\"}'"),
      folder.path(), "photo-01.jpg", "abc.small");
  CHECK(end.status == 0);
  CHECK(end.look.usable());
  CHECK(end.look.sentence() == "Sharp.");
  const std::string words = readFile(folder / "words");
  CHECK(words.starts_with("desk --parent "));
  CHECK(words.find(" look " + folder.path().string() + " photo-01.jpg abc.small\n") !=
        std::string::npos);
}

TEST_CASE("desk child: one that a photo brings down leaves a sentence") {
  TempFolder folder;
  ChildProcess child;
  const LookEnd end = lookInChild(child, program(folder, "kill -SEGV $$"), folder.path(),
                                  "photo-01.jpg", "a.small");
  CHECK(end.status == -11);  // SIGSEGV, by POSIX numbers of Linux.
  CHECK_FALSE(end.look.usable());
  CHECK(end.look.sentence().find("damaged") != std::string::npos);
}

TEST_CASE("desk child: a rebuild tells its steps, and why it failed") {
  TempFolder folder;
  ChildProcess child;
  std::vector<std::pair<double, std::string>> steps;
  const RebuildEnd end = rebuildInChild(
      child, program(folder, "echo 'step 0.25 dense depth'; echo 'failed No mat.'; exit 3"),
      folder / "x", folder / "library",
      [&](double done, const std::string& step) { steps.emplace_back(done, step); });
  CHECK(end.status == 3);
  CHECK(end.failure == "No mat.");
  REQUIRE(steps.size() == 1);
  CHECK(steps[0] == std::pair<double, std::string>{0.25, "dense depth"});
  CHECK(readFile(folder / "words").find("--queued") == std::string::npos);
  (void)rebuildInChild(child, folder / "program.sh", folder / "x", "postgres://desk@127.0.0.1/gym",
                       [](double, const std::string&) {});
  CHECK(readFile(folder / "words").find(" postgres://desk@127.0.0.1/gym --queued\n") !=
        std::string::npos);
}

TEST_CASE("desk child: a rebuild that met no database says so") {
  TempFolder folder;
  ChildProcess child;
  const RebuildEnd end = rebuildInChild(
      child, program(folder, "echo 'unavailable The database is starting up.'; exit 1"),
      folder / "x", folder / "library", [](double, const std::string&) {});
  CHECK(end.status == 1);
  CHECK(end.failure == "The database is starting up.");
}
