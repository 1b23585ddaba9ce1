// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <cstddef>
#include <vector>

#include "mesh/section.h"

namespace holdshelf {

/// The outline of a hole in one cut across it: counter-clockwise, free inside, solid around.
struct HoleRing {
  double height_mm = 0;  ///< Along the axis.
  double area_mm2 = 0;
  Eigen::Vector2d centre_mm;
  std::vector<Eigen::Vector2d> points_mm;

  /// Length across in a direction of the cut's plane (unit).
  double across(const Eigen::Vector2d& direction) const;
};

/// Rings on top of one another, ascending: a bore, a recess, a pocket.
using Hole = std::vector<HoleRing>;

/// Cuts across an axis: right-handed (right, up, normal = axis), `normal` pointing outwards.
PlaneFamily planesAcross(const Eigen::Vector3d& axis);

/// Every hole of the mesh that shows as three rings or more in cuts across the axis, `step_mm`
/// apart, with rings of at least `smallest_mm` and at most `largest_mm` across; in the order of
/// their lowest rings.
/// @throws BadInput  A thousand lie over one another, as in a heap of pieces that are inside out.
std::vector<Hole> findHoles(SectionCutter& cutter, const TriangleMesh& mesh,
                            const PlaneFamily& axes, double step_mm, double smallest_mm,
                            double largest_mm);

/// Counts the holes of one mesh that are looked at one by one, each look going over all of it.
class CloseLooks {
 public:
  /// @param triangles  Of the mesh: of a larger one fewer can be looked at.
  explicit CloseLooks(std::size_t triangles);
  /// Before each. @throws BadInput  There are too many.
  void take();

 private:
  std::size_t most_, taken_ = 0;
};

/// The height up to which the hole's topmost ring still closes, to 0.03 mm: the lowest point of its
/// rim.
double rimHeight(SectionCutter& cutter, const PlaneFamily& axes, const Hole& hole, double step_mm);

}  // namespace holdshelf
