// SPDX-License-Identifier: Apache-2.0
#include "catalog/number_limits.h"

#include <cmath>
#include <limits>

#include "catalog/limit_text.h"
#include "catalog/mounting.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr float kInfinity = std::numeric_limits<float>::infinity();

}  // namespace

bool turnsOverlap(double from1, double to1, double from2, double to2) {
  for (const double turn : {-720.0, -360.0, 0.0, 360.0, 720.0})
    if (from1 + turn <= to2 && from2 <= to1 + turn) return true;
  return false;
}

NumberLimits::NumberLimits(const Query& query) : pull_deg_(query.pull_deg()) {
  if (query.has_rotation_from_deg()) {
    rotation_from_deg_ = query.rotation_from_deg();
    rotation_to_deg_ = query.rotation_to_deg();
  }
  for (const Range& range : query.ranges()) {
    const NumberKind& kind = kindOrThrow(range.number());
    const float from = range.has_from() ? static_cast<float>(range.from()) : -kInfinity;
    const float to = range.has_to() ? static_cast<float>(range.to()) : kInfinity;
    if (!(from <= to))
      throw BadInput("The range of " + range.number() +
                     " is empty: write the smaller number first.");
    limits_.at(static_cast<std::size_t>(kind.group)).push_back({&kind, from, to});
  }
}

bool NumberLimits::rotationFits(NumberGroup group, const NumberTable& table,
                                std::size_t row) const {
  if (group != NumberGroup::Grip || !limitsRotation()) return true;
  const double rotation = wrap360(table.rotation_deg[row] + pull_deg_);
  return turnsOverlap(rotation, rotation, *rotation_from_deg_, rotation_to_deg_);
}

bool NumberLimits::rowFits(NumberGroup group, const NumberTable& table, std::size_t row) const {
  const float* values = &table.values[row * columnCount(group)];
  for (const Limit& limit : of(group))
    if (!limit.holds(values[limit.kind->column])) return false;
  return rotationFits(group, table, row);
}

int NumberLimits::firstRow(NumberGroup group, const NumberTable& table) const {
  for (std::size_t row = 0; row < table.rows; ++row)
    if (rowFits(group, table, row)) return static_cast<int>(row);
  return -1;
}

int NumberLimits::bestRow(NumberGroup group, const NumberTable& table) const {
  int best = -1;
  float best_value = -kInfinity;
  for (std::size_t row = 0; row < table.rows; ++row) {
    const float value = table.values[row * columnCount(group)];
    if ((best >= 0 && !(value > best_value)) || !rowFits(group, table, row)) continue;
    best = static_cast<int>(row);
    best_value = std::isnan(value) ? -kInfinity : value;
  }
  return best;
}

}  // namespace holdshelf
