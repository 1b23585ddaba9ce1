// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <vector>

#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// The projection of a hold on the wall.
struct Footprint {
  double area_mm2 = 0;      ///< Holes that go right through are left out.
  double perimeter_mm = 0;  ///< Of the outline.
  Eigen::Vector2d centroid_mm = Eigen::Vector2d::Zero();
  /// The outer outline of the largest piece, counter-clockwise to the climber, within 0.1 mm.
  std::vector<Eigen::Vector2d> outline_mm;
  double grid_mm = 0;  ///< Spacing of the raster that the projection was drawn on.
};

/// Draws the mesh's projection on a fine raster (at most 1200 points a side, at least 0.1 mm) and
/// follows its outline. Area is good to about perimeter x grid / sqrt(number of border points).
Footprint measureFootprint(const TriangleMesh& mesh);

}  // namespace holdshelf
