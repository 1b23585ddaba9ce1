// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <array>
#include <optional>
#include <vector>

#include "capture/view.h"
#include "mesh/progress.h"
#include "mesh/triangle_mesh.h"
#include "proto/mat.pb.h"

namespace holdshelf {

/// What the colouring knows of the light, and how choosy it is.
struct ColourOptions {
  /// The mat and its markers' corners (frame H, as in SilhouetteInput): colours then are relative
  /// to its white paper under the same light, photo by photo and place by place. Without a mat the
  /// photos' exposures are only made alike.
  std::optional<Mat> mat;
  std::vector<Eigen::Vector3d> mat_points_H_mm;
  double paper_reflectance =
      0.87;                   ///< Of the mat's paper; a judgement, office paper is 0.8 to 0.9.
  int photos_a_vertex = 5;    ///< The best this many are blended.
  double least_cosine = 0.2;  ///< Of the angle between normal and line of sight.
};

/// Sets mesh.colours (sRGB): per vertex the photos that see it unoccluded and most squarely,
/// blended in linear light with weights that discard highlights and what disagrees. Vertices that
/// no photo sees take the colour of their neighbours. The mesh is in frame H of the views; its
/// normals are computed if it has none.
/// @throws Interrupted  progress returned false.
void colourMesh(TriangleMesh& mesh, const std::vector<View>& views, const ColourOptions& options,
                const Progress& progress);

/// The hold's colour: the median over the vertices above z = 1 mm (all, if there are none), per
/// channel in linear light, as sRGB from 0 to 1. Grey 0.5 for a mesh without colours.
std::array<double, 3> medianColour_srgb(const TriangleMesh& mesh);

}  // namespace holdshelf
