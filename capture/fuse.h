// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <vector>

#include "capture/depth_map.h"
#include "mesh/isosurface.h"

namespace holdshelf {

struct FuseOptions {
  double cell_mm = 0.7;         ///< Node distance of the fused grid.
  double truncation_cells = 3;  ///< Reach of a depth along the ray on either side.
  double agree_px = 2.0;      ///< Depths agree when they differ by less than this many footprints.
  int agree_views = 2;        ///< So many other views must agree before a depth counts.
  double hull_slack_mm = 0;   ///< So far outside of the hull measured surface may lie.
  bool close_at_wall = true;  ///< Cut the solid flat at z = 0.
};

/// Erases every depth that fewer than options.agree_views other maps confirm: the point is seen
/// there at the same distance, within agree_px pixel footprints (or 0.25 mm), and the normals lie
/// within 50 degrees.
void keepConfirmedDepth(std::vector<DepthMap>& maps, const FuseOptions& options);

/// Fuses depth maps into one solid: a truncated signed distance to each map's local planes,
/// averaged with weights from correlation and slant, within the hull. Nodes that no view reaches
/// are solid inside the hull, so what no photo measured falls back to the silhouettes.
///
/// Source: Curless B, Levoy M, "A volumetric method for building complex models from range images",
/// SIGGRAPH 1996.
///
/// @param maps  Confirmed depth, frame H.
/// @param hull  Signed distance of the visual hull in mm, negative inside.
/// @return  Values in mm within the truncation; largest solid only, hollows filled.
VoxelGrid fuseDepth(const std::vector<DepthMap>& maps, const VoxelGrid& hull,
                    const FuseOptions& options);

}  // namespace holdshelf
