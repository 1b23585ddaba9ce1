// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <array>
#include <optional>
#include <string>
#include <vector>

#include "catalog/colour.h"
#include "catalog/hold_numbers.h"
#include "catalog/number_bounds.h"
#include "catalog/search_row.h"
#include "proto/query.pb.h"

namespace holdshelf {

/// What search knows of one hold.
struct SearchEntry {
  std::string id, name, bin, set, colour;
  Status status = STATUS_UNSPECIFIED;
  SearchRow row;
};

/// The row of each number group that answers a query: its edge, pinch, pocket and seat; -1 where
/// the hold has none that does.
using ChosenRows = std::array<int, kNumberGroups>;

/// A query made ready to be held against many holds.
class QueryMatcher {
 public:
  /// @throws BadInput  The query names something that does not exist, or an empty range.
  explicit QueryMatcher(const Query& query);

  /// Whether the hold satisfies the query: stops at the first row that does.
  bool matches(const SearchEntry& entry) const { return matches(entry, {}); }

  /// The same for the hold-th hold of an index, whose rows are read only where its bounds leave
  /// the answer open.
  bool matches(const SearchEntry& entry, const NumberBounds& bounds, std::size_t hold) const;

  /// The rows that answer for a hold that matches: of those that satisfy the query the one with
  /// the largest first number, the deepest edge.
  ChosenRows chosenRows(const SearchEntry& entry) const;

  /// How far the hold is from matching: each failed limit adds how much it is missed by, in units
  /// of what a setter calls a small difference; a wrong colour, bin, set, status, word or name
  /// adds a fixed amount. The reasons are sentences' parts: "edge depth 10.4 mm, not 12 mm or
  /// more".
  struct Miss {
    double distance = 0;
    std::vector<std::string> reasons;
    ChosenRows rows{};
  };
  Miss miss(const SearchEntry& entry) const;

  /// CIEDE2000 to the query's patch; 0 without one.
  double patchDifference(const SearchEntry& entry) const;

  const Query& query() const { return query_; }

 private:
  struct Limit {
    const NumberKind* kind;
    float from, to;
  };
  using Answered = std::array<bool, kNumberGroups>;  // Groups known to have a row that fits.
  bool matches(const SearchEntry& entry, const Answered& answered) const;
  bool rotationFits(NumberGroup group, const NumberTable& table, std::size_t row) const;
  bool rowFits(NumberGroup group, const NumberTable& table, std::size_t row) const;
  int bestRow(NumberGroup group, const NumberTable& table) const;
  int nearestRow(NumberGroup group, const NumberTable& table, double& distance) const;
  bool hasWord(const SearchEntry& entry, const std::string& word) const;
  void missNames(const SearchEntry& entry, Miss& miss) const;
  void missNumbers(const SearchEntry& entry, Miss& miss) const;

  Query query_;
  std::array<std::vector<Limit>, kNumberGroups> limits_;
  std::optional<Lab> patch_;
  double patch_within_ = 0;
};

/// "12 mm to 20 mm", "12 mm or more", "5 mm or less".
std::string rangeText(const Range& range);

/// The query without each of its limits in turn, with that limit in words: for saying which one
/// leaves nothing.
std::vector<std::pair<std::string, Query>> withoutEachLimit(const Query& query);

}  // namespace holdshelf
