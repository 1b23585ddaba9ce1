// SPDX-License-Identifier: Apache-2.0
#include "catalog/try_limit.h"

#include <algorithm>

namespace holdshelf {

bool TryLimit::begin(const std::string& who, std::int64_t now_s) {
  const std::lock_guard lock(mutex_);
  while (!tries_.empty() && tries_.front().at_s <= now_s - window_s_) tries_.pop_front();
  const auto his =
      std::count_if(tries_.begin(), tries_.end(), [&](const Try& one) { return one.who == who; });
  if (tries_.size() >= most_in_all_ || static_cast<std::size_t>(his) >= most_each_) return false;
  tries_.push_back({now_s, who});
  return true;
}

void TryLimit::forgive(const std::string& who) {
  const std::lock_guard lock(mutex_);
  const auto last =
      std::find_if(tries_.rbegin(), tries_.rend(), [&](const Try& one) { return one.who == who; });
  if (last != tries_.rend()) tries_.erase(std::next(last).base());
}

}  // namespace holdshelf
