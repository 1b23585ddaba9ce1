// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <optional>
#include <span>
#include <vector>

namespace holdshelf {

/// A circle through points of a section, mm.
struct CircleFit {
  Eigen::Vector2d centre_mm;
  double radius_mm = 0;
  double rms_mm = 0;         ///< Of the orthogonal distances, over n points.
  double radius_per_mm = 0;  ///< Standard uncertainty of the radius for independent noise of 1 mm.
};

/// The circle with the smallest sum of squared orthogonal distances, by Gauss-Newton steps with
/// Levenberg's damping from Taubin's algebraic circle.
///
/// Sources: W. Gander, G. H. Golub, R. Strebel, "Least-squares fitting of circles and ellipses",
/// BIT 34, 1994, section 3; start: G. Taubin, IEEE PAMI 13(11), 1991.
/// @return nullopt for fewer than 3 points, points on a line, or a radius beyond 10 m.
std::optional<CircleFit> fitCircle(std::span<const Eigen::Vector2d> points_mm);

/// Circles of one common radius through several arcs, each about a centre of its own.
struct CommonCircle {
  double radius_mm = 0;
  std::vector<Eigen::Vector2d> centres_mm;  ///< One an arc.
  double rms_mm = 0;
  double radius_per_mm = 0;  ///< As in CircleFit.
};

/// The smallest sum of squared orthogonal distances over all arcs: what one edge shows in
/// neighbouring sections. A mean of single fits would be drawn to large radii by noisy short arcs.
///
/// @return nullopt where there is no arc or one of them has no circle by itself.
std::optional<CommonCircle> fitCommonCircle(std::span<const std::vector<Eigen::Vector2d>> arcs_mm);

/// A straight line through points, by orthogonal distances.
struct LineFit {
  Eigen::Vector2d centre_mm, direction;  ///< Direction runs from the first point to the last.
  double rms_mm = 0;
  double angle_per_mm = 0;  ///< Standard uncertainty of the angle (rad) for noise of 1 mm.
};
/// @return nullopt for fewer than 2 points or points that coincide.
std::optional<LineFit> fitLine(std::span<const Eigen::Vector2d> points_mm);

}  // namespace holdshelf
