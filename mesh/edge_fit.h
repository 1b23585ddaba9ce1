// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>
#include <vector>

#include "mesh/edge.h"

namespace holdshelf {

/// The numbers of one edge that need fits, from the points as cut.
struct EdgeFit {
  double lip_radius_mm = 0;      ///< 0 when sharp without a fit.
  double lip_radius_per_mm = 0;  ///< Uncertainty for 1 mm of independent noise a point.
  double lip_sweep_deg = 0;      ///< Of the arc.
  double lip_rms_mm = 0;
  std::optional<Eigen::Vector2d> lip_centre_mm;  ///< (u, z) of the lip's circle; none where sharp.
  bool sharp = false;                            ///< The radius is below what the mesh resolves.
  double incut_deg = 0;
  double incut_per_mm = 0;             ///< Degrees a mm of noise.
  double contact_mm = 0;               ///< Length of the fitted part of the grip face.
  double contact_bend_deg_per_mm = 0;  ///< How fast that part turns along itself; 0: flat.
  double lip_u_mm = 0, lip_z_mm = 0, root_z_mm = 0;
  double depth_mm = 0, along_mm = 0;
  int lip_points = 0, root_points = 0;  ///< That carry the two heights.
  /// Standard errors from the scatter between neighbouring sections; 0 for one section alone.
  double depth_error_mm = 0, incut_error_deg = 0;
};

/// @param resolution_mm  Of the mesh: radii below about this are called sharp.
EdgeFit fitEdge(const OutsideLine& line, const SectionEdge& edge, const EdgeOptions& options,
                double resolution_mm);

/// One edge in neighbouring sections.
struct EdgeCut {
  OutsideLine line;
  SectionEdge edge;
  EdgeOptions options;
};

/// The first cut's edge, its numbers steadied by the other cuts: one radius for all lips; depth,
/// length and incut the mean of the middle half of the cuts.
EdgeFit fitEdgeTogether(const std::vector<EdgeCut>& cuts, double resolution_mm);

}  // namespace holdshelf
