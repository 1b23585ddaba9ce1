// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstddef>

#include "mesh/mesh_topology.h"
#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// Turns triangles over so that neighbours run along their common edge in opposite senses, as they
/// do on a surface with two sides. Which of a connected piece's two senses that is, the majority of
/// its triangles decides. On a surface with one side only (a Moebius strip) some edge stays at
/// odds.
///
/// @param topology  Of the mesh as it is; it no longer holds where anything was turned.
/// @return  How many were turned.
std::size_t turnTogether(TriangleMesh& mesh, const MeshTopology& topology);

/// The volume that the triangles enclose, mm3: the sum of the tetrahedra from the middle of the
/// vertices to each, (a - m) . ((b - m) x (c - m)) / 6. Positive where they face outwards. Of an
/// open mesh it is that of the cone from the middle over the surface: its sign still tells.
double signedVolume_mm3(const TriangleMesh& mesh);

}  // namespace holdshelf
