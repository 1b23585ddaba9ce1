// SPDX-License-Identifier: Apache-2.0
#include "catalog/nearest_lips.h"

#include <algorithm>
#include <cmath>

namespace holdshelf {
namespace {

constexpr std::size_t kFewHolds = 256;  // That are kept sorted while searching.

bool before(const LipFound& x, const LipFound& y) {
  return x.gap_mm != y.gap_mm ? x.gap_mm < y.gap_mm : x.hold < y.hold;
}

}  // namespace

void NearestLips::offer(const LipFound& found) {
  const std::lock_guard lock(mutex_);
  if (count_ == 0 || count_ > kFewHolds) {
    const auto [at, added] = by_hold_.try_emplace(found.hold, found);
    if (!added && found.gap_mm < at->second.gap_mm) at->second = found;
    return;
  }
  const auto same = std::find_if(best_.begin(), best_.end(),
                                 [&](const LipFound& f) { return f.hold == found.hold; });
  if (same != best_.end()) {
    if (same->gap_mm <= found.gap_mm) return;
    best_.erase(same);
  }
  best_.insert(std::upper_bound(best_.begin(), best_.end(), found, before), found);
  if (best_.size() > count_) best_.pop_back();
  if (best_.size() == count_)
    limit_ = std::min<float>(limit_, std::nextafter(static_cast<float>(best_.back().gap_mm), 1e9F));
}

std::vector<LipFound> NearestLips::sorted() {
  for (auto& [hold, found] : by_hold_) best_.push_back(found);
  by_hold_.clear();
  std::sort(best_.begin(), best_.end(), before);
  if (count_ > 0 && best_.size() > count_) best_.resize(count_);
  return best_;
}

}  // namespace holdshelf
