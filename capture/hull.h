// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Geometry>
#include <limits>
#include <optional>
#include <vector>

#include "capture/view.h"
#include "mesh/isosurface.h"
#include "mesh/progress.h"
#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// How carveHull works. Lengths in mm, frame H.
struct HullOptions {
  // Affect the result.
  std::optional<Eigen::AlignedBox3d>
      box_mm;                ///< The hold lies inside; found from the masks if not given.
  double floor_z_mm = 0;     ///< Nothing lies below; -infinity: no floor.
  int outvoted = -1;         ///< Views that may call a point empty in vain; -1: one in forty.
  double min_seen_by = 0.3;  ///< Share of the masked views that must have a point in their frame.
  // Affect the result's fineness and the time.
  double cell_mm = 0;    ///< Grid spacing; 0: the largest extent over 160.
  double margin_mm = 2;  ///< Of the grid around the hull (not below the floor).
};

/// The largest body that projects into every silhouette.
struct Hull {
  VoxelGrid grid;              ///< Distance to the hull's surface where near, mm, negative inside.
  TriangleMesh mesh;           ///< Its surface, watertight, closed at the floor; empty: no hull.
  Eigen::AlignedBox3d box_mm;  ///< Of the mesh.
};

/// Carves the visual hull of the views' masks; views without a mask (empty, or nothing in it) take
/// no part. A view says of a point how far outside of its silhouette it lies (interpolated between
/// pixels, so finer than a cell); a view whose silhouette runs into the frame says nothing of
/// points outside of the frame. The hull is where the (outvoted + 1)-th strongest word is still
/// "inside".
/// @throws BadInput  Fewer than three masked views, or masks that have no point in common.
/// After Laurentini, "The visual hull concept for silhouette-based image understanding", PAMI 1994.
Hull carveHull(const std::vector<View>& views, const HullOptions& options = {},
               const Progress& progress = {});

/// A box around what the masks can show together, from coarse carving; without the margin.
Eigen::AlignedBox3d boundByMasks(const std::vector<View>& views, const HullOptions& options = {});

}  // namespace holdshelf
