// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <algorithm>

namespace tbb {

/// Sorts, on one thread.
template <class Iterator, class Less>
void parallel_sort(Iterator first, Iterator last, const Less& less) {
  std::sort(first, last, less);
}

}  // namespace tbb
