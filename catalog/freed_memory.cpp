// SPDX-License-Identifier: Apache-2.0
#include "catalog/freed_memory.h"

#include <algorithm>
#include <cstdlib>
#include <thread>
#ifdef __GLIBC__
#include <malloc.h>
#endif

namespace holdshelf {
namespace {

/// What the library itself begins with.
constexpr int kLarge_bytes = 128 * 1024;

}  // namespace

void keepLittleFreedMemory() {
#ifdef __GLIBC__
  (void)::mallopt(M_MMAP_THRESHOLD, kLarge_bytes);
  (void)::mallopt(M_TRIM_THRESHOLD, kLarge_bytes);
  (void)::mallopt(M_ARENA_MAX, static_cast<int>(std::max(2U, std::thread::hardware_concurrency())));
#endif
}

void returnFreedMemory() {
#ifdef __GLIBC__
  (void)::malloc_trim(0);
#endif
}

}  // namespace holdshelf
