// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "tests/reliability/sanitizers/threads.h"

namespace tbb {

/// Calls both, side by side.
template <class First, class Second>
void parallel_invoke(const First& first, const Second& second) {
  holdshelf::test::onThreads(2, [&](std::size_t i) { i == 0 ? first() : second(); });
}

}  // namespace tbb
