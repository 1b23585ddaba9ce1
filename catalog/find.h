// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <vector>

#include "catalog/library.h"
#include "catalog/query_match.h"
#include "proto/query.pb.h"

namespace holdshelf {

/// All that search reads of a library, in memory: read once, asked many times. Matching walks all
/// holds in parallel; tests/bench/find_bench.cpp says what that takes.
class SearchIndex {
 public:
  /// Reads the library's search rows.
  explicit SearchIndex(const Library& library);
  /// An index of holds that are in no library, for tests and benchmarks.
  explicit SearchIndex(const std::vector<Hold>& holds);

  /// Holds that match, sorted and cut to the query's limit. Nothing found is never silent: the
  /// result then names the nearest misses, and the explanation says which limit excludes how many.
  /// @throws BadInput  The query names a number, sort key or status that does not exist, or a range
  ///                   that is empty; the sentence lists what there is.
  FindResult find(const Query& query) const;

  std::size_t size() const { return entries_.size(); }

 private:
  void explainNone(const QueryMatcher& matcher, FindResult& result) const;

  void add(SearchEntry entry);

  std::vector<SearchEntry> entries_;
  NumberBounds bounds_;  ///< Of the entries, in their order.
};

}  // namespace holdshelf
