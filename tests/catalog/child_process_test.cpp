// SPDX-License-Identifier: Apache-2.0
#include "catalog/child_process.h"

#include <doctest/doctest.h>
#include <signal.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <chrono>
#include <cstdlib>
#include <map>
#include <thread>

#include "capture/printed_mat.h"
#include "tests/catalog/desk_folder.h"
#include "tests/catalog/temp_folder.h"

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

TEST_CASE("child process: it has nothing of what is open here") {
  // As the HTTP library takes connections: without FD_CLOEXEC.
  const int open_here = ::socket(AF_INET, SOCK_STREAM, 0);
  REQUIRE(open_here >= 0);
  ChildProcess child;
  std::vector<std::string> open_there;
  CHECK(child.run(kShell, {"-c", "for i in /proc/$$/fd/*; do readlink \"$i\"; done; :"},
                  [&](const std::string& line) { open_there.push_back(line); }) == 0);
  ::close(open_here);
  REQUIRE(open_there.size() == 3);
  CHECK(open_there[0] == "/dev/null");
  CHECK(open_there[1].starts_with("pipe:"));
  CHECK(open_there[2] == "/dev/null");
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

TEST_CASE("child process: who cannot bear what it says has ended it, and leaves nothing behind") {
  struct Unbearable {};
  ChildProcess child;
  pid_t pid = 0;
  CHECK_THROWS_AS(child.run(kShell, {"-c", "echo $$; exec sleep 600"},
                            [&](const std::string& line) {
                              pid = std::stoi(line);
                              throw Unbearable();
                            }),
                  Unbearable);
  REQUIRE(pid > 0);
  errno = 0;
  const bool gone = ::kill(pid, 0) != 0 && errno == ESRCH;  // Nor is its end left to be fetched.
  CHECK(gone);
  if (!gone) ::kill(pid, SIGKILL);
  CHECK(child.run(kShell, {"-c", "exit 7"}, [](const std::string&) {}) == 7);
}

TEST_CASE("child process: ended at the first thing that is seen of it") {
  const test::TempFolder folder;
  for (int i = 0; i < 50; ++i) {
    const std::filesystem::path seen = folder / std::to_string(i);
    ChildProcess child;
    std::thread killer([&] {
      while (!std::filesystem::exists(seen)) std::this_thread::yield();
      child.kill();
    });
    CHECK(child.run(kShell, {"-c", ": > '" + seen.string() + "'; exec sleep 20"},
                    [](const std::string&) {}) == -SIGKILL);
    killer.join();
  }
}

TEST_CASE("child process: one that looks at a photo can take only so much time and memory") {
  const test::TempFolder folder;
  // It waits for the intake here, with its limits set.
  REQUIRE(::mkfifo((folder / "intake.json").c_str(), 0600) == 0);
  ChildProcess child;
  std::map<std::string, std::string> limits;
  child.run(kShell,
            {"-c",
             "\"$1\" desk --parent $$ look \"$2\" photo-01.jpg x.small &\n"
             "for i in $(seq 200); do\n"
             "  grep -q 'Max address space  *[0-9]' /proc/$!/limits && break; sleep 0.05\n"
             "done\n"
             "sed -n 's/^Max \\([a-z ]*[a-z]\\)  *\\([0-9a-z]*\\) .*/\\1=\\2/p' /proc/$!/limits\n"
             "kill -KILL $!",
             "x", HOLDSHELF_PROGRAM, folder.path().string()},
            [&](const std::string& line) {
              const std::size_t at = line.find('=');
              limits[line.substr(0, at)] = line.substr(at + 1);
            });
  CHECK(limits["cpu time"] == "300");
  CHECK(std::atoll(limits["address space"].c_str()) > 3LL << 30);
}

TEST_CASE("child process: a worker ends where its parent is another process") {
  test::TempFolder folder;
  Intake intake = test::intakeWithPhoto("0000abcd", Intake::COLLECTING);
  *intake.mutable_mat() = makeMat("A4").mat;
  const std::string at = test::makeIntakeFolder(folder.path(), intake).string();
  ChildProcess child;
  std::vector<std::string> lines;
  const auto look = [&](pid_t parent) {
    return child.run(
        HOLDSHELF_PROGRAM,
        {"desk", "--parent", std::to_string(parent), "look", at, "photo-01.jpg", "x.small"},
        [&](const std::string& line) { lines.push_back(line); });
  };
  CHECK(look(::getpid() + 1) == 1);
  CHECK(lines.empty());
  CHECK(look(::getpid()) == 0);
  CHECK(lines.size() == 1);  // What is wrong with the photo.
}
