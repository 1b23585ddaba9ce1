// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <array>
#include <optional>
#include <string>
#include <vector>

#include "catalog/colour.h"
#include "catalog/hold_numbers.h"
#include "catalog/lip_curve.h"
#include "catalog/mounting.h"
#include "catalog/mounting_row.h"
#include "catalog/number_bounds.h"
#include "catalog/search_entry.h"
#include "proto/query.pb.h"

namespace holdshelf {

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
  /// The distance of miss() alone, and one that it is not below, from an index's bounds.
  double missDistance(const SearchEntry& entry) const;
  double missAtLeast(const SearchEntry& entry, const NumberBounds& bounds, std::size_t hold) const;

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
  bool useFits(const SearchEntry& entry) const;
  bool hasWord(const SearchEntry& entry, const std::string& word) const;
  /// Calls add(distance, reason) for each failed limit, where reason() makes the words.
  template <typename Add>
  void missNames(const SearchEntry& entry, const Add& add) const;
  template <typename Add>
  void missUse(const SearchEntry& entry, const Add& add) const;
  template <typename Add>
  ChosenRows missNumbers(const SearchEntry& entry, const Add& add) const;

  Query query_;
  std::array<std::vector<Limit>, kNumberGroups> limits_;
  std::optional<Lab> patch_;
  double patch_within_ = 0;
  bool asks_force_ = false;
  bool numbers_only_ = false;  ///< But for the status.
};

/// A name as queries compare it: with a to z for A to Z, all other letters as they are.
std::string caseless(std::string text);

}  // namespace holdshelf
