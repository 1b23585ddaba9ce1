// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstddef>
#include <string>
#include <vector>

#include "catalog/query_match.h"

namespace holdshelf {

/// H-9 before H-0010 and that before H-10000: by the number at the end where all before it is
/// equal.
bool idBefore(const std::string& a, const std::string& b);

/// Puts matches (places in `entries`) in the query's order: by id, name, a number or the difference
/// to its patch, falling where a '-' leads; equals stay as they were. Without an order nearest to
/// the patch first, or, without one, as they came in. Holds without the number come last either
/// way.
void sortMatches(const QueryMatcher& matcher, const std::vector<SearchEntry>& entries,
                 std::vector<std::size_t>& matches);

}  // namespace holdshelf
