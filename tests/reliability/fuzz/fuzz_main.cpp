// SPDX-License-Identifier: Apache-2.0
// libFuzzer's entry for a program that has one target linked in.
#include <unistd.h>

#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <stdexcept>

#include "tests/reliability/fuzz/target.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace holdshelf::test;
  try {
    takeBytes(*fuzzTargets().front(), std::string(reinterpret_cast<const char*>(data), size));
  } catch (const std::logic_error& finding) {
    std::fprintf(stderr, "%s\n", finding.what());
    std::abort();
  }
  return 0;
}
