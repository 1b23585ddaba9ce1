// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <vector>

#include "capture/bolt_recess.h"
#include "capture/fuse.h"
#include "capture/hull.h"
#include "capture/patch_match.h"
#include "capture/rebuild.h"
#include "capture/refine_surface.h"
#include "capture/stage_store.h"
#include "capture/view.h"
#include "mesh/progress.h"
#include "mesh/triangle_mesh.h"
#include "proto/capture_report.pb.h"

namespace holdshelf {

/// The settings of the dense stages, together.
struct DenseOptions {
  PatchMatchOptions match;
  FuseOptions fuse;
  double edge_mm = 0.7;  ///< Edge length of the final mesh.
  RefineOptions refine;
};

/// Chooses raster, grid and edge length so that work goes where the hold is: depth maps at about
/// half a millimetre a pixel, grid and triangles a little coarser, never finer than the photos.
DenseOptions denseOptions(const std::vector<View>& views, const Hull& hull, Quality quality,
                          bool close_at_wall);

/// The hold's surface, and the recesses for bolts in it; their floors are cut but not yet settled
/// (settleFloors).
struct DenseSurface {
  TriangleMesh mesh;
  std::vector<BoltRecess> recesses;
};

/// From masked views and their hull to the hold's surface: depth maps, their agreement, fusion,
/// bolt recesses, even triangles, photo-consistent refinement. Frame and unit of the views. Depth
/// maps and the fused surface are kept in the store, and taken up from it. Without a wall
/// (options.fuse.close_at_wall) no recess is looked for.
/// @throws Interrupted  progress returned false.
DenseSurface denseSurface(const std::vector<View>& views, const Hull& hull,
                          const DenseOptions& options, std::vector<StageTime>& times,
                          const Progress& progress, const StageStore& store = {});

void storeSurface(const std::string& stage, const DenseSurface& surface,
                  const std::vector<StageTime>& times, const StageStore& store);
/// nullopt: the store has no such stage, or not whole.
std::optional<DenseSurface> restoredSurface(const std::string& stage, std::vector<StageTime>& times,
                                            const StageStore& store);

}  // namespace holdshelf
