// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <chrono>
#include <condition_variable>
#include <deque>
#include <functional>
#include <mutex>
#include <string>
#include <thread>

#include "catalog/child_process.h"

namespace holdshelf {

/// One thread of an intake desk and the child that it works with. What waits in line is done one
/// after another, in the order in which it came. Safe from several threads.
class DeskWorker {
 public:
  /// An intake, or one of its photos by its SHA-256.
  struct Task {
    std::string intake, photo;
    bool operator==(const Task&) const = default;
  };

  /// @param work  Called from the thread with each task; lets nothing be thrown.
  /// @param pause  Between tasks that could not be begun.
  explicit DeskWorker(std::function<void(const Task&, ChildProcess&)> work,
                      std::chrono::milliseconds pause = std::chrono::seconds(5));
  ~DeskWorker() { end(); }
  DeskWorker(const DeskWorker&) = delete;
  DeskWorker& operator=(const DeskWorker&) = delete;

  void add(Task task);
  /// One that could not be begun: at the end of the line, and the next only after a pause, as it
  /// may not be either.
  void addAgain(Task task);
  /// Takes it out of the line; what has begun goes on.
  void remove(const Task& task);
  /// Ends the child of the task that has begun.
  void killChild() { child_.kill(); }

  /// Ends the child and, when `work` has returned, the thread; what waits is left.
  void end();
  /// Children are being ended, so that how one ended tells nothing.
  bool ending() const;

 private:
  void run();

  std::function<void(const Task&, ChildProcess&)> work_;
  mutable std::mutex mutex_;
  std::condition_variable moved_;
  std::deque<Task> line_;
  bool ending_ = false, gone_ = false, pausing_ = false;
  const std::chrono::milliseconds pause_;
  ChildProcess child_;
  std::thread thread_;
};

}  // namespace holdshelf
