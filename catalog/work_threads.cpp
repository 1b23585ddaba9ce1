// SPDX-License-Identifier: Apache-2.0
#include "catalog/work_threads.h"

#include <system_error>

namespace holdshelf {

WorkThreads::~WorkThreads() {
  {
    const std::lock_guard lock(mutex_);
    ending_ = true;
    for (Worker& worker : workers_) worker.given.notify_one();
  }
  for (Worker& worker : workers_) worker.thread.join();
}

std::size_t WorkThreads::started() const {
  const std::lock_guard lock(mutex_);
  return workers_.size();
}

void WorkThreads::handOver(std::function<void()> work) {
  Task task;
  task.work = std::move(work);
  std::unique_lock lock(mutex_);
  if (!idle_.empty()) {
    Worker& last = *idle_.back();
    idle_.pop_back();
    last.task = &task;
    last.given.notify_one();
  } else if (workers_.size() < most_) {
    Worker& fresh = workers_.emplace_back();
    fresh.task = &task;
    try {
      fresh.thread = std::thread([this, &fresh] { serve(fresh); });
    } catch (const std::system_error&) {  // The machine has no more threads.
      workers_.pop_back();
      if (workers_.empty()) throw;
      line_.push_back(&task);
    }
  } else {
    line_.push_back(&task);
  }
  task.ended.wait(lock, [&] { return task.done; });
  if (task.failure) std::rethrow_exception(task.failure);
}

void WorkThreads::serve(Worker& worker) {
  std::unique_lock lock(mutex_);
  for (;;) {
    worker.given.wait(lock, [&] { return ending_ || worker.task != nullptr; });
    if (worker.task == nullptr) return;
    Task& task = *worker.task;
    lock.unlock();
    std::exception_ptr failure;
    try {
      task.work();
    } catch (...) {
      failure = std::current_exception();
    }
    lock.lock();
    // Who handed it over is woken last, since the task is gone with them.
    if (line_.empty()) {
      worker.task = nullptr;
      idle_.push_back(&worker);
    } else {
      worker.task = line_.front();
      line_.pop_front();
    }
    task.failure = failure;
    task.done = true;
    task.ended.notify_one();
  }
}

}  // namespace holdshelf
