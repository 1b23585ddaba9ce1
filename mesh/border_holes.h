// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstddef>
#include <vector>

#include "mesh/mesh_topology.h"
#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// The closed loops of a mesh's open edges, as vertices: each edge from its end back to its
/// beginning, so that a fan over the loop faces the way its neighbours do. Loops of fewer than
/// three are no loops; where several meet at a vertex they are followed as far as each goes.
std::vector<std::vector<int>> borderLoops(const TriangleMesh& mesh, const MeshTopology& topology);

/// Closes holes of up to 60 edges with a fan of triangles from their first vertex. The only border
/// of a mesh stays open when it is longer than 12 edges: it is an open scan's back, which counts as
/// closed at the wall.
/// @return  How many were closed.
std::size_t closeSmallHoles(TriangleMesh& mesh, const MeshTopology& topology);

}  // namespace holdshelf
