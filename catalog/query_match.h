// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <array>
#include <optional>
#include <string>

#include "catalog/colour.h"
#include "catalog/lip_curve.h"
#include "catalog/mounting.h"
#include "catalog/mounting_row.h"
#include "catalog/number_bounds.h"
#include "catalog/number_limits.h"
#include "catalog/search_entry.h"
#include "proto/query.pb.h"

namespace holdshelf {

/// A query made ready to be held against many holds.
class QueryMatcher {
 public:
  /// @throws BadInput  The query names something that does not exist, or an empty range, or has
  ///                   more than a hundred limits of one kind.
  explicit QueryMatcher(const Query& query);

  /// Whether the hold satisfies the query: stops at the first row that does.
  bool matches(const SearchEntry& entry) const { return matches(entry, {}); }

  /// The same for the hold-th hold of an index, whose rows are read only where its status and its
  /// bounds leave the answer open.
  bool matches(const SearchEntry& entry, Status status, const NumberBounds& bounds,
               std::size_t hold) const;

  /// The rows that answer for a hold that matches: of those that satisfy the query the one with
  /// the largest first number, the deepest edge.
  /// @param lip  Where a lip was found: the edge is then one of these rotations.
  ChosenRows chosenRows(const SearchEntry& entry, const LipRun* lip = nullptr) const;

  /// The rows to show of a hold that matches: those that answer; but where nothing is asked of the
  /// edge, and nothing sorted by it, the edge that the hand gets where the hold holds most, as it
  /// will be hung, and not its deepest at any rotation.
  ChosenRows shownRows(const SearchEntry& entry) const;

  /// Whether a lip of a hold that matches may count: at the rotations asked for, and with an edge
  /// there that satisfies the query.
  bool lipMayCount(const SearchEntry& entry, const LipRun& lip) const;
  /// Whether anything but the status is limited, the lip aside.
  bool limitsMore() const;

  /// What hand and foot get from the hold where the query lets it hang; nullopt where the query
  /// does not ask, or nothing is known.
  std::optional<MountedUse> handUse(const SearchEntry& entry) const;
  std::optional<MountedUse> footUse(const SearchEntry& entry) const;
  MountingSpan span() const;
  /// A rotation of the search rows, which are for a downward pull, as the hold is then turned.
  double turned_deg(double row_deg) const { return wrap360(row_deg + query_.pull_deg()); }

  /// CIEDE2000 to the query's patch; 0 without one, kNoColour for a hold without measured colour.
  static constexpr double kNoColour = 100;
  double patchDifference(const SearchEntry& entry) const;
  /// The largest that still matches.
  double patchWithin() const { return patch_within_; }
  /// Whether the hold has a grip word at the rotations asked for.
  bool hasWord(const SearchEntry& entry, const std::string& word) const;
  bool asksForce() const { return asks_force_; }

  const Query& query() const { return query_; }
  const NumberLimits& numbers() const { return numbers_; }

 private:
  using Answered = std::array<bool, kNumberGroups>;  // Groups known to have a row that fits.
  bool matches(const SearchEntry& entry, const Answered& answered) const;
  bool useFits(const SearchEntry& entry) const;

  Query query_;
  NumberLimits numbers_;
  std::optional<Lab> patch_;
  double patch_within_ = 0;
  bool asks_force_ = false;
  bool numbers_only_ = false;  ///< But for the status.
};

}  // namespace holdshelf
