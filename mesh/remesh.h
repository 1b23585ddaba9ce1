// SPDX-License-Identifier: Apache-2.0
#pragma once
#include "mesh/triangle_mesh.h"

namespace holdshelf {

struct RemeshOptions {
  double edge_mm = 0.7;       ///< Wished edge length; edges end between 4/5 and 4/3 of it.
  int passes = 3;             ///< Rounds of split, collapse, flip, smooth.
  bool keep_wall_rim = true;  ///< Leave the sharp rim at z = 0 where it is.
};

/// Gives a closed manifold mesh even, well-shaped triangles: long edges are split, short ones
/// collapsed, edges flipped towards valence six, vertices moved along the surface. Topology is
/// kept (link condition); positions move by a fraction of the edge length along the surface only.
/// Attributes are dropped.
///
/// Source: Botsch M, Kobbelt L, "A remeshing approach to multiresolution modeling", SGP 2004,
/// sec. 4.
///
/// @param mesh  Watertight and manifold; otherwise std::invalid_argument.
TriangleMesh remesh(const TriangleMesh& mesh, const RemeshOptions& options);

}  // namespace holdshelf
