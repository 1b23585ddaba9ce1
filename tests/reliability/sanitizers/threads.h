// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <atomic>
#include <cstddef>
#include <exception>
#include <mutex>
#include <thread>
#include <vector>

/// \file
/// oneTBB hands work from thread to thread inside a library that ThreadSanitizer cannot look into,
/// so that everything done by two of its threads looks like a race. Built with
/// HOLDSHELF_THREAD_SANITIZE the headers in `tbb/` stand in for its headers of the same names: the
/// loops are as parallel, but all that joins them is seen, and what is reported is ours.

namespace holdshelf::test {

/// In how many loops the calling thread stands.
inline thread_local int loop_depth = 0;

/// Calls `work(i)` for each i below `count`, on four plain threads (on the caller's alone where
/// loops stand in loops three deep); rethrows the first exception once all have ended.
template <class Work>
void onThreads(std::size_t count, const Work& work) {
  constexpr std::size_t kThreads = 4;
  constexpr int kDeepest = 3;
  const int depth = loop_depth;
  if (count <= 1 || depth >= kDeepest) {
    for (std::size_t i = 0; i < count; ++i) work(i);
    return;
  }
  // Relaxed: the counter must not order what the threads do, or it would hide their races.
  std::atomic<std::size_t> next{0};
  std::mutex failed;
  std::exception_ptr failure;
  const auto serve = [&] {
    loop_depth = depth + 1;
    try {
      for (std::size_t i = next.fetch_add(1, std::memory_order_relaxed); i < count;
           i = next.fetch_add(1, std::memory_order_relaxed))
        work(i);
    } catch (...) {
      next.store(count, std::memory_order_relaxed);
      const std::lock_guard lock(failed);
      if (!failure) failure = std::current_exception();
    }
    loop_depth = depth;
  };
  std::vector<std::thread> threads;
  while (threads.size() + 1 < kThreads && threads.size() + 1 < count) threads.emplace_back(serve);
  serve();
  for (std::thread& thread : threads) thread.join();
  if (failure) std::rethrow_exception(failure);
}

}  // namespace holdshelf::test
