// SPDX-License-Identifier: Apache-2.0
#include "catalog/freed_memory.h"

#include <doctest/doctest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <barrier>
#include <cstdlib>
#include <fstream>
#include <memory>
#include <string>
#include <thread>
#include <vector>

using namespace holdshelf;

// Under a sanitizer memory is its own affair, and nothing is given back.
#if !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__) && defined(__GLIBC__)
namespace {

constexpr const char* kGoesBack = "what is large goes back";
constexpr const char* kStays = "what is large stays";

/// Memory of this process's own that is in the machine, MiB, as the kernel counts it
/// (proc_pid_status(5), RssAnon).
double ownMemoryMib() {
  std::ifstream status("/proc/self/status");
  for (std::string line; std::getline(status, line);)
    if (line.starts_with("RssAnon:")) return std::atof(line.c_str() + 8) / 1024;
  return 0;
}

/// Small pieces taken and freed but for the last, which keeps what lies below it from being cut
/// off.
std::unique_ptr<std::string> workOn(int mib, std::barrier<>& all_hold_theirs) {
  std::vector<std::unique_ptr<std::string>> pieces;
  for (int i = 0; i < mib * 256; ++i)
    pieces.push_back(std::make_unique<std::string>(4000, static_cast<char>('a' + i % 26)));
  all_hold_theirs.arrive_and_wait();
  return std::move(pieces.back());
}

/// Whether 16 MiB that are freed, and then 8 MiB below a small piece still in use, go back to the
/// system by themselves.
bool largeGoesBack() {
  const double before_mib = ownMemoryMib();
  { const std::string first(16 << 20, 'a'); }
  auto large = std::make_unique<std::string>(8 << 20, 'b');
  const auto small = std::make_unique<std::string>(4000, 'c');
  large.reset();
  return ownMemoryMib() - before_mib < 1;
}

/// How a skipped case ends as the only one of a process, which has freed nothing large before.
int endAlone(const char* name) {
  const pid_t child = ::fork();
  if (child == 0) {
    const std::string only = std::string("--test-case=") + name;
    (void)::execl("/proc/self/exe", "catalog_tests", "--no-skip", only.c_str(), nullptr);
    ::_exit(127);
  }
  int status = 0;
  REQUIRE(::waitpid(child, &status, 0) == child);
  REQUIRE(WIFEXITED(status));
  return WEXITSTATUS(status);
}

}  // namespace

TEST_CASE("freed memory: what eight threads took and freed goes back to the system") {
  returnFreedMemory();
  const double before_mib = ownMemoryMib();
  std::vector<std::unique_ptr<std::string>> kept(8);
  std::barrier all_hold_theirs(8);
  std::vector<std::thread> threads;
  for (auto& last : kept) threads.emplace_back([&] { last = workOn(8, all_hold_theirs); });
  for (auto& thread : threads) thread.join();
  const double freed_mib = ownMemoryMib() - before_mib;
  REQUIRE(freed_mib > 40);  // 64 MiB were in use: the C library has kept most of it.
  returnFreedMemory();
  CHECK(ownMemoryMib() - before_mib < 0.1 * freed_mib);
}

TEST_CASE(kGoesBack* doctest::skip()) {
  keepLittleFreedMemory();
  CHECK(largeGoesBack());
}

TEST_CASE(kStays* doctest::skip()) { CHECK_FALSE(largeGoesBack()); }

// mallopt(3), M_MMAP_THRESHOLD: the threshold is raised to what was freed, unless it is set.
TEST_CASE("freed memory: what is large goes back at once, which it does not by itself") {
  CHECK(endAlone(kGoesBack) == 0);
  CHECK(endAlone(kStays) == 0);
}
#endif
