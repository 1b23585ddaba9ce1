// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <vector>

#include "capture/view.h"
#include "mesh/isosurface.h"
#include "mesh/progress.h"
#include "mesh/triangle_mesh.h"

namespace holdshelf {

struct RefineOptions {
  // Affect results.
  bool on_wall = true;        ///< The mesh is closed at z = 0, and its back stays there.
  int rounds = 5;             ///< Each halves the reach of the search, down to half a pixel.
  double reach_px = 4;        ///< Of the first search: how far the photos slide over each other.
  int most_views = 8;         ///< Views compared at a vertex, the most frontal ones.
  double smooth_mm = 0.06;    ///< Expected departure of a vertex from the smooth surface around it.
  double hull_slack_mm = 0;   ///< So far outside of the hull a vertex may lie.
  double outline_weight = 4;  ///< Of the silhouettes against the photos' agreement; 0: none.
  // Affect speed.
  int smooth_steps = 40;  ///< Relaxation steps a round.
};

/// Moves every vertex along its normal to where the photos agree best, comparing all views that see
/// it at once, and keeps the surface smooth where they say little.
///
/// At a vertex a small patch of the surface (bent like the mesh around it) is sampled in every view
/// for a row of offsets d along the normal; the score of an offset is the weighted mean of all
/// pairwise zero-mean normalised cross-correlations,
///   c(d) = (|sum w_i s_i|^2 - sum w_i^2) / ((sum w_i)^2 - sum w_i^2),
/// with s_i the normalised samples of view i. The offsets of all vertices are then balanced against
/// a thin-plate term. Fills mesh.sigma_mm (standard uncertainty along the normal, from the
/// curvature of c at its peak and what correlation is missing there) and mesh.guesswork.
/// The photos' outlines (outline_pull.h) pull where the surface grazes the line of sight.
///
/// @param mesh   Watertight; frame H, mm.
/// @param views  Undistorted, with masks.
/// @param hull   Signed distance of the visual hull, mm, negative inside; vertices stay inside.
/// @throws Interrupted  progress returned false.
/// After Furukawa Y, Ponce J, "Accurate, dense, and robust multiview stereopsis", PAMI 32, 2010
/// (patches compared in all views) and Desbrun M et al., SIGGRAPH 1999 (smoothing).
void refineSurface(TriangleMesh& mesh, const std::vector<View>& views, const VoxelGrid& hull,
                   const RefineOptions& options, const Progress& progress);

}  // namespace holdshelf
