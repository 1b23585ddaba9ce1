// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <vector>

#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// Which triangle lies across each edge, and what the mesh can resolve. Built once, O(#T).
struct MeshTopology {
  /// 3 #T: across edge k of triangle t (from corner k to corner k + 1), as 3 * triangle + edge
  /// there; -1 at a border. Where more than two triangles share an edge they are paired in opposite
  /// senses as far as they go round.
  std::vector<int> across;
  int border_edges = 0;
  int surplus_edges = 0;     ///< Half-edges beyond the second at a non-manifold edge.
  int flipped_edges = 0;     ///< Edges whose two triangles run along them in the same sense.
  double resolution_mm = 0;  ///< Median edge length.
};

MeshTopology buildTopology(const TriangleMesh& mesh);

/// The noise of the surface normal to itself, mm: the median distance (as a standard deviation) of
/// a vertex from the mean of its neighbours, beyond what the surface's curvature explains. For
/// meshes that bring no uncertainties of their own. Exact meshes give nearly 0.
double estimateNoise(const TriangleMesh& mesh);

}  // namespace holdshelf
