// SPDX-License-Identifier: Apache-2.0
#include "catalog/live_events.h"

namespace holdshelf {
namespace {

constexpr std::size_t kMostKept = 500;

}  // namespace

void LiveEvents::publish(const std::string& kind, const std::string& json) {
  const std::lock_guard lock(mutex_);
  ++last_;
  entries_.push_back(
      {last_, "id: " + std::to_string(last_) + "\nevent: " + kind + "\ndata: " + json + "\n\n"});
  if (entries_.size() > kMostKept) entries_.pop_front();
  came_.notify_all();
}

std::int64_t LiveEvents::last() const {
  const std::lock_guard lock(mutex_);
  return last_;
}

std::string LiveEvents::next(std::int64_t& after, std::chrono::milliseconds patience) {
  std::unique_lock lock(mutex_);
  if (after > last_) after = 0;  // From before a restart.
  came_.wait_for(lock, patience, [&] { return closed_ || last_ > after; });
  std::string text;
  for (const Entry& entry : entries_)
    if (entry.number > after) text += entry.text;
  after = last_;
  return text;
}

void LiveEvents::close() {
  const std::lock_guard lock(mutex_);
  closed_ = true;
  came_.notify_all();
}

bool LiveEvents::closed() const {
  const std::lock_guard lock(mutex_);
  return closed_;
}

}  // namespace holdshelf
