// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Geometry>

#include "mesh/triangle_mesh.h"
#include "tests/shapes/sdf.h"

namespace holdshelf {

/// The surface of a solid as a triangle mesh: watertight, counter-clockwise from outside, without
/// attributes. Every vertex lies on the surface to 1e-7 mm; between vertices the flat triangles cut
/// arcs of radius r by cell^2 / (4 r) at most, and sharp edges by up to half a cell.
///
/// Marching cubes on a grid of the given cell size; blocks that the surface cannot meet are
/// skipped, so time goes with the area. The grid is shifted off round coordinates, so that faces of
/// the solid do not fall into grid planes.
///
/// @param box_mm   Must hold the whole solid; a margin of one cell is added.
/// @param cell_mm  Edge of a grid cell.
/// @throws std::invalid_argument  cell is not positive, the box is empty, or the solid touches the
///                                grid's border.
///
/// Source: Lorensen, Cline, SIGGRAPH 1987. The table of 256 cases is derived here from one rule on
/// the cell's faces (inside corners are kept apart where a face is ambiguous), which both cells at
/// a face share, so no cracks can open.
TriangleMesh meshSdf(const Sdf& solid, const Eigen::AlignedBox3d& box_mm, double cell_mm);

}  // namespace holdshelf
