// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "catalog/query_match.h"

namespace holdshelf {

/// How far a hold is from matching a query: each failed limit adds how much it is missed by, in
/// units of what a setter calls a small difference; a wrong colour, bin, set, status, word or name
/// adds a fixed amount.
struct QueryMiss {
  double distance = 0;  ///< 0: it matches.
  /// Sentences' parts, one a failed limit: "edge depth 10.4 mm, not 12 mm or more".
  std::vector<std::string> reasons;
  ChosenRows rows{};  ///< Of each group the row that comes nearest.
};

QueryMiss missOf(const QueryMatcher& matcher, const SearchEntry& entry);

/// The distance of missOf() alone, without making words.
double missDistance(const QueryMatcher& matcher, const SearchEntry& entry);

/// A distance that missDistance() is not below, for the hold-th hold of an index, from its status
/// and the index's bounds: its rows are not read.
double missAtLeast(const QueryMatcher& matcher, const SearchEntry& entry,
                   const NumberBounds& bounds, std::size_t hold);

}  // namespace holdshelf
