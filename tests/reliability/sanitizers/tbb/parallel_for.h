// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <oneapi/tbb/blocked_range.h>

#include "tests/reliability/sanitizers/threads.h"

namespace tbb {

/// `body(i)` for each i from `first` up to, not with, `last`.
template <class Index, class Body>
void parallel_for(Index first, Index last, const Body& body) {
  if (!(first < last)) return;
  holdshelf::test::onThreads(static_cast<std::size_t>(last - first), [&](std::size_t i) {
    body(static_cast<Index>(first + static_cast<Index>(i)));
  });
}

/// `body(part)` for parts of the range, each as short as its grain allows.
template <class Value, class Body>
void parallel_for(const blocked_range<Value>& range, const Body& body) {
  const std::size_t grain = range.grainsize();
  const std::size_t parts = (range.size() + grain - 1) / grain;
  holdshelf::test::onThreads(parts, [&](std::size_t part) {
    const Value from = range.begin() + static_cast<Value>(part * grain);
    const Value to = part + 1 == parts ? range.end() : from + static_cast<Value>(grain);
    body(blocked_range<Value>(from, to));
  });
}

}  // namespace tbb
