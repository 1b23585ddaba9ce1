// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// What is wrong with a mesh, counted.
struct MeshDefects {
  std::size_t degenerate = 0;      ///< Triangles without area or with a corner twice.
  std::size_t duplicate = 0;       ///< The same three corners again.
  std::size_t loose_vertices = 0;  ///< In no triangle.
  std::size_t split_vertices = 0;  ///< Vertices at one place that should be one (cracks).
  std::size_t flipped = 0;         ///< Edges whose two triangles disagree about outside.
  std::size_t surplus = 0;         ///< Triangle sides beyond two at an edge.
  std::size_t border = 0;          ///< Open edges.
  std::size_t pieces = 0;          ///< Parts that share no edge.
  bool inside_out = false;
};
MeshDefects findDefects(const TriangleMesh& mesh);

struct Repaired {
  TriangleMesh mesh;
  std::vector<std::string> notes;  ///< One sentence a repair, for people; empty: nothing was wrong.
};

/// Makes a mesh measurable: merges vertices at one place, drops triangles without area, repeated
/// ones, loose vertices and small crumbs, turns triangles so that neighbours agree and outside is
/// outside, closes small holes (up to 60 edges) away from the back with a fan.
///
/// Attributes of merged vertices are taken from the first. Nothing else moves.
/// @throws BadInput  Hopeless: nothing is left, or more than a tenth of the edges are shared by
///                   more than two triangles or open, so that no surface can be followed.
Repaired repairMesh(const TriangleMesh& mesh);

}  // namespace holdshelf
