// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <vector>

#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// Slope of the surface at each vertex, degrees between its outward normal and the wall's: 0 faces
/// the climber, 90 stands square to the wall, above 90 looks back to the wall (incut, undercut).
/// Normals are averaged over about `smooth_mm` of surface, so that a scan's noise does not show.
std::vector<float> slopeMap_deg(const TriangleMesh& mesh, double smooth_mm = 2);

}  // namespace holdshelf
