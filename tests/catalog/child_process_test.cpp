// SPDX-License-Identifier: Apache-2.0
#include "catalog/child_process.h"

#include <doctest/doctest.h>
#include <signal.h>

#include <chrono>
#include <thread>

using namespace holdshelf;

namespace {

const std::string kShell = "/bin/sh";

}  // namespace

TEST_CASE("child process: lines, status, signals; words are passed on as they are") {
  ChildProcess child;
  std::vector<std::string> lines;
  const auto keep = [&](const std::string& line) { lines.push_back(line); };
  CHECK(child.run(kShell,
                  {"-c", "echo one; echo \"$1\"; echo lost >&2; printf unended; exit 3", "x",
                   "a 'b' $(c)"},
                  keep) == 3);
  CHECK(lines == std::vector<std::string>{"one", "a 'b' $(c)"});
  CHECK(child.run(kShell, {"-c", "kill -ABRT $$"}, keep) == -SIGABRT);
  CHECK_THROWS(child.run("/no/such/program", {}, keep));
}

TEST_CASE("child process: ended from another thread") {
  ChildProcess child;
  std::thread killer;
  const int status = child.run(kShell, {"-c", "echo up; exec sleep 600"}, [&](const std::string&) {
    killer = std::thread([&] { child.kill(); });
  });
  killer.join();
  CHECK(status == -SIGKILL);
}
