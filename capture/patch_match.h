// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <vector>

#include "capture/depth_map.h"
#include "capture/view.h"
#include "mesh/progress.h"
#include "mesh/ray_scene.h"

namespace holdshelf {

struct PatchMatchOptions {
  // Affect results.
  double finest_scale = 0.5;  ///< Raster of the finest depth map over the photo's.
  int levels = 2;             ///< Each level halves the raster; the coarsest starts from chance.
  int coarse_iterations = 4;  ///< Sweeps at the coarsest level.
  int fine_iterations = 2;    ///< Sweeps at each finer level.
  int sources = 6;            ///< Neighbouring views compared with each view.
  int best_sources = 3;       ///< Of these the best count, so that hidden ones do no harm.
  double outside_mm = 1.5;    ///< How far outside the hull a surface may lie.
  unsigned seed = 1;
};

/// Dense depth of every view by matching against its neighbours: PatchMatch on slanted windows,
/// coarse to fine, depths limited to the hull.
///
/// Each pixel carries a plane, stored as w with 1/z = w . r for the ray r (z = 1) of a pixel, so
/// that the window's homography is K_s (R + t w^T) K_r^-1. Sweeps spread planes to neighbours and
/// try random changes; the cost is 1 - ZNCC averaged over the best sources.
///
/// Source: Bleyer M, Rhemann C, Rother C, "PatchMatch Stereo", BMVC 2011; view selection by best
/// sources as in Galliani S, Lasinger K, Schindler K, ICCV 2015.
///
/// @param views  Undistorted, posed, with masks.
/// @param hull   Rays against the hull's mesh, frame H.
/// @return  One map a view, in order; pixels outside the mask or off the hull have depth 0.
std::vector<DepthMap> matchDepth(const std::vector<View>& views, const RayScene& hull,
                                 const PatchMatchOptions& options, const Progress& progress);

/// For each view the views to compare with: seen from the hold 5 to 45 degrees apart, best near 18.
std::vector<std::vector<int>> chooseSources(const std::vector<View>& views,
                                            const Eigen::Vector3d& centre_H_mm, int sources);

}  // namespace holdshelf
