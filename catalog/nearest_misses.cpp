// SPDX-License-Identifier: Apache-2.0
#include "catalog/nearest_misses.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <atomic>
#include <limits>
#include <mutex>
#include <utility>

#include "catalog/query_miss.h"

namespace holdshelf {

std::vector<std::size_t> nearestMisses(const QueryMatcher& matcher,
                                       const std::vector<SearchEntry>& entries,
                                       const NumberBounds& bounds, std::size_t most) {
  using Near = std::pair<double, std::size_t>;
  std::vector<Near> nearest;
  std::atomic<double> limit = std::numeric_limits<double>::infinity();
  std::mutex mutex;
  tbb::parallel_for(std::size_t{0}, entries.size(), [&](std::size_t i) {
    if (missAtLeast(matcher, entries[i], bounds, i) > limit) return;
    const Near near{missDistance(matcher, entries[i]), i};
    if (near.first > limit) return;
    const std::lock_guard lock(mutex);
    nearest.insert(std::upper_bound(nearest.begin(), nearest.end(), near), near);
    if (nearest.size() > most) nearest.pop_back();
    if (nearest.size() == most) limit = nearest.back().first;
  });
  std::vector<std::size_t> found;
  for (const Near& near : nearest) found.push_back(near.second);
  return found;
}

}  // namespace holdshelf
