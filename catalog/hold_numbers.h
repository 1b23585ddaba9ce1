// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <array>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "proto/shape.pb.h"

namespace holdshelf {

/// What a measured number belongs to: the whole hold, or one of its edges (by rotation), pinches,
/// pockets or bolt seats.
enum class NumberGroup { Hold, Grip, Pinch, Pocket, Seat };
constexpr std::size_t kNumberGroups = 5;

/// One kind of number that holds are searched, sorted and listed by.
struct NumberKind {
  const char* flag;   ///< As commands, queries and CSV name it: "edge-depth".
  const char* label;  ///< For people: "edge depth".
  const char* unit;   ///< "mm", "°", "cm³", "cm²" or "".
  NumberGroup group;
  std::size_t column;  ///< Within its group.
  double tolerance;    ///< A difference that a setter calls small, in the unit: scales near misses.
};

/// All kinds. Volume is in cm³ and areas in cm² here, since people type them.
std::span<const NumberKind> numberKinds();
/// nullptr when there is no such flag.
const NumberKind* numberKind(const std::string& flag);
std::size_t columnCount(NumberGroup group);

/// The numbers of one shape: rows of columnCount(group) values. NaN where it was not measured.
struct NumberTable {
  std::vector<float> values;        ///< Row by row.
  std::vector<float> rotation_deg;  ///< One a row; only of grips, pinches and pockets.
  std::size_t rows = 0;
};
using HoldNumbers = std::array<NumberTable, kNumberGroups>;

HoldNumbers holdNumbers(const Shape& shape);

/// The edge that a list shows of a hold: the deepest one; nullptr where there is none.
const Grip* deepestGrip(const Shape& shape);

}  // namespace holdshelf
