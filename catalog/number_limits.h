// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <array>
#include <optional>
#include <vector>

#include "catalog/hold_numbers.h"
#include "proto/query.pb.h"

namespace holdshelf {

/// The row of each number group that answers a query: its edge, pinch, pocket and seat; -1 where
/// the hold has none that does.
using ChosenRows = std::array<int, kNumberGroups>;

/// Whether two turning ranges, degrees and of any whole turns, have a rotation in common.
bool turnsOverlap(double from1, double to1, double from2, double to2);

/// The limits of a query on measured numbers. Those on numbers of one group (an edge's depth and
/// incut) must hold in one and the same row, and edges only at the rotations asked for.
class NumberLimits {
 public:
  /// Search rows are kept in steps of 1/50: a limit that falls on a value must not exclude it.
  static constexpr float kHalfStep = 0.0101F;

  struct Limit {
    const NumberKind* kind;
    float from, to;  ///< As asked, in the kind's unit; infinite at an open end.

    /// The ends as the rows are held against them.
    float least() const { return from - kHalfStep; }
    float most() const { return to + kHalfStep; }
    /// False for NaN: what was not measured meets no limit.
    bool holds(float value) const { return value >= least() && value <= most(); }
  };

  /// @throws BadInput  The query names a number that does not exist, or an empty range.
  explicit NumberLimits(const Query& query);

  const std::vector<Limit>& of(NumberGroup group) const {
    return limits_[static_cast<std::size_t>(group)];
  }
  /// Whether edges count at some rotations only.
  bool limitsRotation() const { return rotation_from_deg_.has_value(); }

  /// Whether an edge's rotation, turned for the query's pull, is asked for; other groups' rows have
  /// none that counts.
  bool rotationFits(NumberGroup group, const NumberTable& table, std::size_t row) const;
  /// Whether a row meets all limits of its group.
  bool rowFits(NumberGroup group, const NumberTable& table, std::size_t row) const;
  /// The first row that does; -1: none.
  int firstRow(NumberGroup group, const NumberTable& table) const;
  /// Of those that do the one with the largest first number (the deepest edge); -1: none.
  int bestRow(NumberGroup group, const NumberTable& table) const;

 private:
  std::array<std::vector<Limit>, kNumberGroups> limits_;
  std::optional<double> rotation_from_deg_;
  double rotation_to_deg_ = 0, pull_deg_ = 0;
};

}  // namespace holdshelf
