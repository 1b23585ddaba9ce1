// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstddef>
#include <vector>

#include "catalog/hold_numbers.h"

namespace holdshelf {

/// The least and the largest value of each number over a hold's rows, one column a number, so that
/// a search passes over most holds without reading their rows: 8 bytes a number and hold.
class NumberBounds {
 public:
  NumberBounds();

  /// Appends the bounds of one more hold. Rows where a number is NaN do not count for it.
  void add(const HoldNumbers& numbers);
  /// Gives a hold other bounds.
  void set(std::size_t hold, const HoldNumbers& numbers);

  /// False only when no row of the hold has this number in [from, to].
  bool mayFit(std::size_t hold, const NumberKind& kind, float from, float to) const;

  /// No row of the hold is nearer to [from, to] than this; infinite where none has the number.
  float shortBy(std::size_t hold, const NumberKind& kind, float from, float to) const;

  /// True only when some row of the hold has this number in [from, to]: its least or its largest.
  bool surelyFits(std::size_t hold, const NumberKind& kind, float from, float to) const;

 private:
  struct Bounds {
    float least, most;  ///< least > most where the hold has no such number.
  };
  static Bounds boundsOf(const NumberKind& kind, const HoldNumbers& numbers);
  const Bounds& of(std::size_t hold, const NumberKind& kind) const;

  std::vector<std::vector<Bounds>> columns_;  ///< In the order of numberKinds(), then of holds.
};

}  // namespace holdshelf
