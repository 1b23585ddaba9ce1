// SPDX-License-Identifier: Apache-2.0
#include "catalog/child_process.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstdlib>
#include <fstream>
#include <stdexcept>
#include <thread>

namespace holdshelf {
namespace {

/// A pipe whose ends no other child inherits.
struct Pipe {
  std::array<int, 2> ends{-1, -1};
  Pipe() {
    if (::pipe2(ends.data(), O_CLOEXEC) != 0) throw std::runtime_error("no pipe can be made");
  }
  ~Pipe() {
    closeWriter();
    ::close(ends[0]);
  }
  void closeWriter() {
    if (ends[1] >= 0) ::close(ends[1]);
    ends[1] = -1;
  }
};

pid_t spawn(const std::filesystem::path& program, const std::vector<std::string>& arguments,
            int out) {
  std::string name = program.string();
  std::vector<std::string> words = arguments;
  std::vector<char*> argv = {name.data()};
  for (std::string& word : words) argv.push_back(word.data());
  argv.push_back(nullptr);
  posix_spawn_file_actions_t files;
  posix_spawn_file_actions_init(&files);
  posix_spawn_file_actions_addopen(&files, 0, "/dev/null", O_RDONLY, 0);
  posix_spawn_file_actions_adddup2(&files, out, 1);
  posix_spawn_file_actions_addopen(&files, 2, "/dev/null", O_WRONLY, 0);
  // Whatever else is open here, such as the connections of all phones, is none of its business.
  posix_spawn_file_actions_addclosefrom_np(&files, 3);
  posix_spawnattr_t attributes;
  posix_spawnattr_init(&attributes);
  // Ctrl-C at the terminal is for the server, which then ends its children itself.
  posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETPGROUP);
  posix_spawnattr_setpgroup(&attributes, 0);
  pid_t pid = 0;
  const int failed = ::posix_spawn(&pid, name.c_str(), &files, &attributes, argv.data(), environ);
  posix_spawn_file_actions_destroy(&files);
  posix_spawnattr_destroy(&attributes);
  if (failed != 0) throw std::runtime_error(name + " cannot be started");
  return pid;
}

/// Until there is something to read, or its end. A signal ends the wait: ThreadSanitizer runs no
/// handler before a read that has begun is over.
void awaitBytes(int from) {
  pollfd waiting{.fd = from, .events = POLLIN, .revents = 0};
  while (::poll(&waiting, 1, -1) < 0 && errno == EINTR) {
  }
}

void readLines(int from, const std::function<void(const std::string&)>& line) {
  std::string text;
  std::array<char, 4096> buffer{};
  for (;;) {
    awaitBytes(from);
    const ssize_t got = ::read(from, buffer.data(), buffer.size());
    if (got < 0 && errno == EINTR) continue;
    if (got <= 0) break;
    text.append(buffer.data(), static_cast<std::size_t>(got));
    for (std::size_t end = text.find('\n'); end != std::string::npos; end = text.find('\n')) {
      line(text.substr(0, end));
      text.erase(0, end + 1);
    }
  }
}

/// Address space that a thread takes when it starts: its stack, and where it allocates from
/// (mallopt(3), M_ARENA_MAX). A pool may have two a processor.
constexpr rlim_t kThreadsOfProcessor = 256ULL << 20;

/// Address space that is taken so far. What may come is counted from there: a program that is
/// instrumented takes terabytes before it begins.
rlim_t mappedBytes() {
  std::ifstream sizes("/proc/self/statm");  // proc(5): the first one is all of it, in pages.
  rlim_t pages = 0;
  sizes >> pages;
  return pages * static_cast<rlim_t>(::sysconf(_SC_PAGESIZE));
}

/// Never raises one that whoever started the program has set.
void lowerLimit(decltype(RLIMIT_CPU) resource, rlim_t most) {
  struct rlimit limit {};
  if (::getrlimit(resource, &limit) != 0) return;
  limit.rlim_max = std::min(limit.rlim_max, most);
  limit.rlim_cur = std::min(limit.rlim_cur, most);
  ::setrlimit(resource, &limit);
}

}  // namespace

int ChildProcess::run(const std::filesystem::path& program,
                      const std::vector<std::string>& arguments,
                      const std::function<void(const std::string&)>& line) {
  Pipe pipe;
  {
    const std::lock_guard lock(mutex_);
    pid_ = spawn(program, arguments, pipe.ends[1]);
  }
  pipe.closeWriter();
  try {
    readLines(pipe.ends[0], line);
  } catch (...) {  // Nobody would hear what it says from here on.
    kill();
    (void)awaitEnd();
    throw;
  }
  return awaitEnd();
}

int ChildProcess::awaitEnd() {
  const pid_t pid = pid_;  // Only this thread changes it.
  // Waited for without being reaped first, so that kill() never meets a number given anew.
  siginfo_t info{};
  while (::waitid(P_PID, static_cast<id_t>(pid), &info, WEXITED | WNOWAIT) != 0 && errno == EINTR) {
  }
  {
    const std::lock_guard lock(mutex_);
    pid_ = 0;
  }
  int status = 0;
  while (::waitpid(pid, &status, 0) < 0 && errno == EINTR) {
  }
  return WIFEXITED(status) ? WEXITSTATUS(status) : -WTERMSIG(status);
}

void ChildProcess::kill() {
  const std::lock_guard lock(mutex_);
  if (pid_ > 0) ::kill(pid_, SIGKILL);
}

void becomeWorker(pid_t parent) {
  ::setpriority(PRIO_PROCESS, 0, 10);
  ::prctl(PR_SET_PDEATHSIG, SIGKILL);
  if (::getppid() != parent) std::exit(1);  // It had ended already.
}

void limitWork(std::chrono::seconds processor_time, std::uint64_t more_bytes) {
  lowerLimit(RLIMIT_CPU, static_cast<rlim_t>(processor_time.count()));
  const rlim_t threads = kThreadsOfProcessor * std::max(1U, std::thread::hardware_concurrency());
  lowerLimit(RLIMIT_AS, mappedBytes() + threads + more_bytes);
}

}  // namespace holdshelf
