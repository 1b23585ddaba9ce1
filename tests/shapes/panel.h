// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "proto/shape.pb.h"
#include "tests/shapes/holds.h"

namespace holdshelf {

/// More than forty holds whose dimensions are known by construction: edges of every depth, lip
/// radius and incut, slopers, jugs, chips, pinches, pockets, domes, with and without bolt seats,
/// turned, with organic bumps beside what is measured.
std::vector<ExactHold> exactPanel();

/// One number of one hold against its truth.
struct PanelCheck {
  enum class Kind { Length, Radius, Angle, Width };
  std::string hold, quantity;
  Kind kind = Kind::Length;
  double truth = 0, measured = 0, sigma = 0;
  double error() const { return measured - truth; }
  /// Lengths 0.1 mm or 0.5 %, radii 3 % or 0.1 mm, angles 0.3 degrees, widths 0.5 mm.
  double tolerance() const;
};

/// Every number of the shape that the hold knows the truth of. A number that is missing from the
/// shape is a check whose measured value is NaN.
std::vector<PanelCheck> checkShape(const ExactHold& hold, const Shape& shape);

}  // namespace holdshelf
