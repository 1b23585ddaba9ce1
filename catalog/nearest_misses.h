// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstddef>
#include <vector>

#include "catalog/query_match.h"

namespace holdshelf {

/// The holds that come nearest to matching (query_miss.h), nearest first; of equals the ones that
/// came in first. Walks all in parallel, past those whose bounds say that they are farther.
/// @param bounds  Of the entries, in their order.
/// @param most    So many, or all where there are fewer; above 0.
/// @return  Places in `entries`.
std::vector<std::size_t> nearestMisses(const QueryMatcher& matcher,
                                       const std::vector<SearchEntry>& entries,
                                       const NumberBounds& bounds, std::size_t most);

}  // namespace holdshelf
