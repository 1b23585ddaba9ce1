// SPDX-License-Identifier: Apache-2.0
#include "catalog/desk_worker.h"

#include <chrono>
#include <utility>

namespace holdshelf {

DeskWorker::DeskWorker(std::function<void(const Task&, ChildProcess&)> work,
                       std::chrono::milliseconds pause)
    : work_(std::move(work)), pause_(pause), thread_([this] { run(); }) {}

void DeskWorker::add(Task task) {
  const std::lock_guard lock(mutex_);
  line_.push_back(std::move(task));
  moved_.notify_all();
}

void DeskWorker::addAgain(Task task) {
  const std::lock_guard lock(mutex_);
  line_.push_back(std::move(task));
  pausing_ = true;
}

void DeskWorker::remove(const Task& task) {
  const std::lock_guard lock(mutex_);
  std::erase(line_, task);
}

bool DeskWorker::ending() const {
  const std::lock_guard lock(mutex_);
  return ending_;
}

void DeskWorker::end() {
  if (!thread_.joinable()) return;
  {
    std::unique_lock lock(mutex_);
    ending_ = true;
    moved_.notify_all();
    // A child may be just about to start: its end is asked for until the thread is gone.
    do child_.kill();
    while (!moved_.wait_for(lock, std::chrono::milliseconds(20), [&] { return gone_; }));
  }
  thread_.join();
}

void DeskWorker::run() {
  std::unique_lock lock(mutex_);
  for (;;) {
    moved_.wait(lock, [&] { return ending_ || !line_.empty(); });
    if (ending_) break;
    const Task next = std::move(line_.front());
    line_.pop_front();
    lock.unlock();
    work_(next, child_);
    lock.lock();
    if (std::exchange(pausing_, false)) moved_.wait_for(lock, pause_, [&] { return ending_; });
  }
  gone_ = true;
  moved_.notify_all();
}

}  // namespace holdshelf
