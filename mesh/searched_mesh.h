// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <vector>

#include "mesh/mesh_topology.h"
#include "mesh/precision.h"
#include "mesh/reach.h"
#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// A place around which there are no grips: where a bolt's head fills the hold.
struct FilledDisc {
  Eigen::Vector2d centre_mm;
  double radius_mm = 0;
};

/// All that finding grips needs of one mesh.
struct SearchedMesh {
  const TriangleMesh& mesh;
  const MeshTopology& topology;
  const MeshPrecision& precision;
  const ReachField& reach;
  std::vector<FilledDisc> filled;

  /// Whether a bolt's head fills this place of the wall plane.
  bool isFilled(const Eigen::Vector2d& place_mm) const;
};

}  // namespace holdshelf
