// SPDX-License-Identifier: Apache-2.0
#include "catalog/number_bounds.h"

#include <algorithm>
#include <limits>

namespace holdshelf {

NumberBounds::NumberBounds() : columns_(numberKinds().size()) {}

NumberBounds::Bounds NumberBounds::boundsOf(const NumberKind& kind, const HoldNumbers& numbers) {
  constexpr float kInfinity = std::numeric_limits<float>::infinity();
  const NumberTable& table = numbers.at(static_cast<std::size_t>(kind.group));
  Bounds bounds{kInfinity, -kInfinity};
  for (std::size_t row = 0; row < table.rows; ++row) {
    const float value = table.values[row * columnCount(kind.group) + kind.column];
    // Comparisons with NaN are false, which leaves the bounds as they are.
    if (value < bounds.least) bounds.least = value;
    if (value > bounds.most) bounds.most = value;
  }
  return bounds;
}

void NumberBounds::add(const HoldNumbers& numbers) {
  for (std::size_t i = 0; i < columns_.size(); ++i)
    columns_[i].push_back(boundsOf(numberKinds()[i], numbers));
}

void NumberBounds::set(std::size_t hold, const HoldNumbers& numbers) {
  for (std::size_t i = 0; i < columns_.size(); ++i)
    columns_[i].at(hold) = boundsOf(numberKinds()[i], numbers);
}

const NumberBounds::Bounds& NumberBounds::of(std::size_t hold, const NumberKind& kind) const {
  return columns_[static_cast<std::size_t>(&kind - numberKinds().data())][hold];
}

bool NumberBounds::mayFit(std::size_t hold, const NumberKind& kind, float from, float to) const {
  const Bounds& bounds = of(hold, kind);
  return bounds.least <= to && bounds.most >= from && bounds.least <= bounds.most;
}

float NumberBounds::shortBy(std::size_t hold, const NumberKind& kind, float from, float to) const {
  const Bounds& bounds = of(hold, kind);
  if (bounds.least > bounds.most) return std::numeric_limits<float>::infinity();
  return std::max({0.0F, from - bounds.most, bounds.least - to});
}

bool NumberBounds::surelyFits(std::size_t hold, const NumberKind& kind, float from,
                              float to) const {
  const Bounds& bounds = of(hold, kind);
  const auto within = [&](float value) { return value >= from && value <= to; };
  return bounds.least <= bounds.most && (within(bounds.least) || within(bounds.most));
}

}  // namespace holdshelf
