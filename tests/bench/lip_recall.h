// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <algorithm>

#include "catalog/lip_index.h"

namespace holdshelf::test {

/// How many of the ten nearest lips that the index finds are those that trying every lip finds.
inline int sameAsTrying(const LipIndex& lips, const LipProbe& probe) {
  const auto found = lips.nearest(probe, 10), tried = lips.nearestByTrying(probe, 10);
  int same = 0;
  for (const LipFound& f : found)
    same += std::any_of(tried.begin(), tried.end(),
                        [&](const LipFound& t) { return t.gap_mm == f.gap_mm; })
                ? 1
                : 0;
  return same;
}

}  // namespace holdshelf::test
