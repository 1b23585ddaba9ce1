// SPDX-License-Identifier: Apache-2.0
#include "catalog/lease_keeper.h"

#include <algorithm>
#include <chrono>
#include <utility>

#include "catalog/postgres_pool.h"

namespace fs = std::filesystem;
using namespace std::chrono_literals;

namespace holdshelf {
namespace {

constexpr auto kLook = 250ms;  // How soon a stop is noticed.

}  // namespace

LeaseKeeper::LeaseKeeper(fs::path library, QueuedCapture capture, QueueRules rules,
                         std::function<bool()> stop, std::function<void()> end)
    : library_(std::move(library)),
      capture_(std::move(capture)),
      rules_(rules),
      stop_(std::move(stop)),
      end_(std::move(end)),
      thread_([this] { keep(); }) {}

LeaseKeeper::~LeaseKeeper() {
  {
    const std::lock_guard lock(mutex_);
    done_ = true;
  }
  changed_.notify_all();
  thread_.join();
}

bool LeaseKeeper::renewed() const {
  try {
    return CaptureQueue(borrowConnection(library_), rules_).renew(capture_);
  } catch (const std::exception&) {
    return true;
  }
}

void LeaseKeeper::keep() {
  const auto period = rules_.lease / 3;
  auto renew_at = std::chrono::steady_clock::now() + period;
  std::unique_lock lock(mutex_);
  while (!done_) {
    changed_.wait_for(lock, std::min<std::chrono::milliseconds>(kLook, period));
    if (!done_ && stop_ && stop_()) stopped_ = true;
    if (!done_ && std::chrono::steady_clock::now() >= renew_at) {
      lock.unlock();
      if (!renewed()) lost_ = true;
      lock.lock();
      renew_at = std::chrono::steady_clock::now() + period;
    }
    if (lost_ || stopped_) end_();
  }
}

}  // namespace holdshelf
