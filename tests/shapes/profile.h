// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <vector>

namespace holdshelf {

/// A corner of a polygon, rounded by an arc of exactly this radius (0: sharp).
struct ProfileCorner {
  Eigen::Vector2d at_mm;  ///< Where the two sides would meet without the arc.
  double radius_mm = 0;
};

/// A closed outline of straight sides and tangent circular arcs: the section that an extruded or
/// turned solid has by construction. Its lip radii are exact, in contrast to those of blends.
class Profile {
 public:
  /// @param corners  Counter-clockwise polygon without self-intersections, convex or not.
  /// @throws std::invalid_argument  Fewer than 3 corners, or the arcs of a side overlap.
  explicit Profile(const std::vector<ProfileCorner>& corners);

  /// True signed distance, mm, negative inside.
  double operator()(const Eigen::Vector2d& p_mm) const;

  /// Exact enclosed area and length of the outline.
  double area_mm2() const;
  double length_mm() const;

  /// Centre of the arc at the given corner (the corner itself when sharp) and its two ends.
  struct Arc {
    Eigen::Vector2d centre_mm, from_mm, to_mm;
    double radius_mm;
    bool convex;  ///< The solid is on the centre's side.
  };
  const Arc& arc(std::size_t corner) const { return arcs_[corner]; }

 private:
  std::vector<Arc> arcs_;
};

}  // namespace holdshelf
