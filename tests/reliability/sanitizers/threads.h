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

/// Calls `work(i)` for each i below `count`, every fourth on one of four plain threads, however
/// quick they are: two that touch the same are seen whether or not they meet. (On the caller's
/// alone where loops stand in loops three deep.) Rethrows the first exception once all have ended.
template <class Work>
void onThreads(std::size_t count, const Work& work) {
  constexpr std::size_t kThreads = 4;
  constexpr int kDeepest = 3;
  const int depth = loop_depth;
  if (count <= 1 || depth >= kDeepest) {
    for (std::size_t i = 0; i < count; ++i) work(i);
    return;
  }
  // Relaxed: it must not order what the threads do, or it would hide their races.
  std::atomic<bool> stopped = false;
  std::mutex failed;
  std::exception_ptr failure;
  const auto serve = [&](std::size_t first) {
    loop_depth = depth + 1;
    try {
      for (std::size_t i = first; i < count && !stopped.load(std::memory_order_relaxed);
           i += kThreads)
        work(i);
    } catch (...) {
      stopped.store(true, std::memory_order_relaxed);
      const std::lock_guard lock(failed);
      if (!failure) failure = std::current_exception();
    }
    loop_depth = depth;
  };
  std::vector<std::thread> threads;
  for (std::size_t first = 1; first < kThreads && first < count; ++first)
    threads.emplace_back(serve, first);
  serve(0);
  for (std::thread& thread : threads) thread.join();
  if (failure) std::rethrow_exception(failure);
}

}  // namespace holdshelf::test
