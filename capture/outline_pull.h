// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <vector>

#include "capture/view.h"
#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// What the silhouettes say of one vertex.
struct OutlinePull {
  double offset_mm = 0;  ///< Along the outward normal to the outline; positive: grow.
  double sigma_mm = 0;   ///< Standard uncertainty; 0: the vertex lies on no outline.
};

/// How outlinePulls reads the outlines.
struct OutlineOptions {
  /// An outline farther off than this, in photo pixels, is taken for a mistake of the mask or for
  /// a part that is missing, which no shift along the normal would bring back.
  double reach_px = 4;
  /// A gap up to this is within the doubt of a mask's edge and pulls nothing, and a wider one pulls
  /// by the rest: where the photos agree well they know better than half a pixel of mask.
  double doubt_px = 1;
  double mask_sigma_px = 0.5;  ///< Standard uncertainty of a mask's edge.
};

/// Compares the outline of a mesh with the outlines of the photos: where the mesh meets the
/// background in a photo, the surface grazes the line of sight, so the gap to the mask's edge is
/// the surface's own error along its normal, give or take the mask's. Photo-consistency says least
/// just there, and nothing where the hold has no texture. Only background behind the mesh counts,
/// not its own far parts; and outlines that leave the frame say nothing.
///
/// The pull of a vertex is the weighted mean over the photos and pixels in which it is the nearest
/// to the outline.
///
/// @param mesh   Frame H, mm, with normals.
/// @param views  Undistorted, with masks; views without a mask say nothing.
/// @return  One a vertex.
/// After Hernandez Esteban C, Schmitt F, "Silhouette and stereo fusion for 3D object modeling",
/// Computer Vision and Image Understanding 96, 2004.
std::vector<OutlinePull> outlinePulls(const TriangleMesh& mesh, const std::vector<View>& views,
                                      const OutlineOptions& options = {});

}  // namespace holdshelf
