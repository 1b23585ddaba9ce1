// SPDX-License-Identifier: Apache-2.0
#include "catalog/clock.h"

#include <doctest/doctest.h>

#include <atomic>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <thread>
#include <vector>

using namespace holdshelf;

namespace {

/// What the system's own `id -un` says (POSIX.1-2017, id).
std::string loginName() {
  std::FILE* id = ::popen("id -un", "r");
  if (id == nullptr) return "";
  char text[256] = "";
  const bool said = std::fgets(text, sizeof text, id) != nullptr;
  ::pclose(id);
  std::string name = said ? text : "";
  while (!name.empty() && name.back() == '\n') name.pop_back();
  return name;
}

}  // namespace

// ThreadSanitizer found getpwuid's one answer for all threads here.
TEST_CASE("clock: who is at work is the login name, whoever else asks at that moment") {
  const char* set = std::getenv("HOLDSHELF_WHO");
  const std::string expected = set != nullptr && *set != '\0' ? set : loginName();
  REQUIRE(!expected.empty());
  std::atomic<int> others = 0;
  std::vector<std::thread> threads;
  for (int t = 0; t < 8; ++t)
    threads.emplace_back([&] {
      for (int i = 0; i < 200; ++i)
        if (whoAmI() != expected) ++others;
    });
  for (auto& thread : threads) thread.join();
  CHECK(others == 0);
}
