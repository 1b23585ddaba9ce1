// SPDX-License-Identifier: Apache-2.0
#include "tests/catalog/run_program.h"

#include <doctest/doctest.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <chrono>
#include <cstdlib>

#include "tests/catalog/temp_folder.h"

namespace holdshelf::test {
namespace {

/// Reads both pipes to their ends, so that neither can fill and stop the program.
void drain(int out, int err, ProgramRun& run) {
  std::array<pollfd, 2> ends{{{out, POLLIN, 0}, {err, POLLIN, 0}}};
  std::array<std::string*, 2> texts{&run.out, &run.err};
  int open = 2;
  while (open > 0) {
    if (::poll(ends.data(), ends.size(), -1) < 0) continue;
    for (std::size_t i = 0; i < ends.size(); ++i) {
      if (ends.at(i).fd < 0 || ends.at(i).revents == 0) continue;
      std::array<char, 4096> buffer{};
      const ssize_t size = ::read(ends.at(i).fd, buffer.data(), buffer.size());
      if (size > 0) {
        texts.at(i)->append(buffer.data(), static_cast<std::size_t>(size));
      } else {
        ::close(ends.at(i).fd);
        ends.at(i).fd = -1;
        --open;
      }
    }
  }
}

/// For what the program keeps for later: the tests' own, so that they leave nothing in the user's.
const std::filesystem::path& cache() {
  static const TempFolder folder;
  return folder.path();
}

[[noreturn]] void become(const std::vector<std::string>& arguments, int out, int err) {
  ::dup2(::open("/dev/null", O_RDONLY), STDIN_FILENO);
  ::dup2(out, STDOUT_FILENO);
  ::dup2(err, STDERR_FILENO);
  std::vector<std::string> words = {HOLDSHELF_PROGRAM};
  words.insert(words.end(), arguments.begin(), arguments.end());
  std::vector<char*> argv;
  for (std::string& word : words) argv.push_back(word.data());
  argv.push_back(nullptr);
  ::setenv("XDG_CACHE_HOME", cache().c_str(), 1);
  ::execv(argv[0], argv.data());
  ::_exit(127);
}

}  // namespace

ProgramRun runProgram(const std::vector<std::string>& arguments, int interrupt_after_ms) {
  std::array<int, 2> out{}, err{};
  REQUIRE(::pipe2(out.data(), O_CLOEXEC) == 0);
  REQUIRE(::pipe2(err.data(), O_CLOEXEC) == 0);
  cache();  // Made before the fork.
  const pid_t child = ::fork();
  REQUIRE(child >= 0);
  if (child == 0) become(arguments, out[1], err[1]);
  ::close(out[1]);
  ::close(err[1]);
  pid_t alarm = -1;
  if (interrupt_after_ms > 0 && (alarm = ::fork()) == 0) {
    ::usleep(static_cast<useconds_t>(interrupt_after_ms) * 1000);
    ::kill(child, SIGINT);
    ::_exit(0);
  }
  ProgramRun run;
  drain(out[0], err[0], run);
  int status = 0;
  ::waitpid(child, &status, 0);
  if (alarm > 0) {
    ::kill(alarm, SIGKILL);
    ::waitpid(alarm, nullptr, 0);
  }
  run.status = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
  return run;
}

bool isOneSentence(const std::string& text) {
  const std::size_t end = text.find('\n');
  return text.size() > 20 && end == text.size() - 1 && text[end - 1] == '.';
}

}  // namespace holdshelf::test
