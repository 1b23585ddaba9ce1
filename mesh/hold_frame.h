// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Geometry>
#include <string>
#include <vector>

#include "mesh/triangle_mesh.h"

namespace holdshelf {

struct HoldFrameOptions {
  /// Angle in the wall plane of what is to be up (+y), counter-clockwise to the climber from the
  /// mesh's own +y as it lies after its back is on the wall: with 90 the mesh's -x side comes up.
  double up_deg = 0;
  /// A mesh whose back already lies on z = 0 keeps its z axis.
  double lies_within_mm = 0.5;
  double lies_within_deg = 1;
};

struct HoldFrame {
  Eigen::Isometry3d T_hold_mesh;   ///< Takes the mesh's coordinates to the hold frame's.
  bool moved = false;              ///< More than rounding.
  std::vector<std::string> notes;  ///< What was done, for people.
};

/// Finds the hold frame of a mesh in any position: the flat back is laid on z = 0, the bolt axis
/// (or else the footprint's centroid) comes to the origin.
///
/// The back is the largest flat part that the whole mesh lies on one side of: facets of the convex
/// hull of the same direction, weighed by the mesh's own area in them; a mesh without its back (an
/// open scan) lies on its border.
/// @throws BadInput  There is no flat back: no plane carries a tenth of the projected outline.
HoldFrame findHoldFrame(const TriangleMesh& mesh, const HoldFrameOptions& options = {});

/// The mesh with its positions and normals taken along.
TriangleMesh moved(const TriangleMesh& mesh, const Eigen::Isometry3d& T);

}  // namespace holdshelf
