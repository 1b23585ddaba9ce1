// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <cstddef>
#include <vector>

#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// A scalar field on a regular grid of nodes, x fastest. Negative: inside.
struct VoxelGrid {
  Eigen::Vector3d origin_mm{0, 0, 0};  ///< Of node (0, 0, 0), frame H.
  double cell_mm = 1;                  ///< Distance of neighbouring nodes.
  Eigen::Vector3i nodes{0, 0, 0};      ///< Count along x, y, z.
  std::vector<float> value;            ///< One a node; mm where it is a distance.

  size_t index(int x, int y, int z) const {
    return (static_cast<size_t>(z) * nodes.y() + y) * nodes.x() + x;
  }
  Eigen::Vector3d position_mm(int x, int y, int z) const {
    return origin_mm + cell_mm * Eigen::Vector3d(x, y, z);
  }
  /// Trilinear value at a point; nodes at the border are continued outwards.
  double interpolate(const Eigen::Vector3d& point_mm) const;
};

/// The surface value = 0 as a closed, manifold mesh, triangles counter-clockwise from outside.
/// The border of the grid counts as outside, so the mesh is watertight even where the field is
/// negative up to the border. Empty when nothing is inside.
///
/// Marching tetrahedra on the Kuhn subdivision: every ambiguity of cubes is absent, every vertex
/// lies on an edge of the subdivision, linearly interpolated.
/// Source: Doi A, Koide A, "An efficient method of triangulating equi-valued surfaces by using
/// tetrahedral cells", IEICE Trans. E74, 1991.
TriangleMesh isosurface(const VoxelGrid& grid);

/// Keeps the largest connected part of the inside and fills hollows that no path of outside nodes
/// joins to the border (6-neighbours). Values of changed nodes become +-`depth`.
void keepLargestSolid(VoxelGrid& grid, float depth);

}  // namespace holdshelf
