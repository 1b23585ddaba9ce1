// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <condition_variable>
#include <cstddef>
#include <deque>
#include <exception>
#include <functional>
#include <list>
#include <mutex>
#include <optional>
#include <thread>
#include <utility>
#include <vector>

namespace holdshelf {

/// A few threads that do others' work, each as soon as one is free, by the one that was at work
/// last: the memory that a thread keeps of what it has freed is kept by few, however many ask. Safe
/// from several threads; work must not wait for work that was handed over after it.
class WorkThreads {
 public:
  /// @param most  How many threads there are at most, at least 1: each is started when first
  /// needed.
  explicit WorkThreads(std::size_t most) : most_(most) {}
  /// Nobody may be waiting in run() any more.
  ~WorkThreads();
  WorkThreads(const WorkThreads&) = delete;
  WorkThreads& operator=(const WorkThreads&) = delete;

  /// Does `work` on one of them and waits for it. @return What it returns. @throws What it throws.
  template <typename Work>
  auto run(const Work& work) {
    std::optional<decltype(work())> result;
    handOver([&] { result.emplace(work()); });
    return std::move(*result);
  }

  /// How many have been started.
  std::size_t started() const;

 private:
  struct Task {
    std::function<void()> work;
    std::exception_ptr failure;
    bool done = false;
    std::condition_variable ended;
  };
  struct Worker {
    Task* task = nullptr;  ///< What it has been given, until it is done.
    std::condition_variable given;
    std::thread thread;
  };

  void handOver(std::function<void()> work);
  void serve(Worker& worker);

  const std::size_t most_;
  mutable std::mutex mutex_;
  bool ending_ = false;
  std::deque<Task*> line_;     ///< Of those that wait for a thread, in order.
  std::vector<Worker*> idle_;  ///< The one that was at work last is at the end.
  std::list<Worker> workers_;
};

}  // namespace holdshelf
