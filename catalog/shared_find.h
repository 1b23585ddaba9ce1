// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>

#include "catalog/library.h"
#include "proto/query.pb.h"

namespace holdshelf {

/// How far to go one way before another one is tried. Affects speed only.
struct SearchPace {
  std::int64_t small = 20'000;      ///< Holds that are read into memory in a moment.
  std::size_t first_walk = 400;     ///< Rows that are walked past before anything is known.
  std::size_t most_walk = 2500;     ///< From where on the index is faster.
  std::size_t most_looks = 20'000;  ///< Rows of what an index leaves.
};

/// Answers a query from the rows of a large shared library, without reading all of them. The first
/// few hundred rows tell how many match: where that is soon enough, the answer is found by going on
/// along the rows, else through the database's index over marks (search_marks.h). What either gives
/// is held against the whole query here, in the order of keys, or of ids where the query sorts by
/// those. `matched` counts only the hits where there are as many as were asked for, and the
/// explanation says that there may be more.
///
/// Where nothing matches, it says how many would without each limit, as far as that is quickly
/// seen and counted to ten; and the nearest misses are the nearest of those.
///
/// nullopt where that is no help and the index in memory (find.h) is to answer: the library is in a
/// folder or small, a lip or a colour patch is wanted, all or another order is asked for, or too
/// few match to be met soon.
std::optional<FindResult> findInDatabase(const Library& library, const Query& query,
                                         const SearchPace& pace = {});

}  // namespace holdshelf
