// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstddef>
#include <vector>

#include "mesh/mesh_topology.h"
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

/// For each vertex the first one at its place: itself where it is that. Vertices are at one place
/// when they are closer than a billionth of the mesh's diagonal, which is what writing and reading
/// a number costs and far less than any scan resolves. So are those that a chain of such pairs
/// joins.
/// @throws BadInput  Hundreds are so close to one another without being equal, all over the mesh.
std::vector<int> firstAtPlace(const TriangleMesh& mesh);

/// True where a triangle names a corner twice or its corners lie on a line: twice the area is below
/// 1e-12 of the square of its longer side at the first corner.
bool withoutArea(const TriangleMesh& mesh, const Eigen::Vector3i& triangle);

/// For each triangle whether an earlier one has the same three corners, in whatever order.
std::vector<bool> repeatedTriangles(const std::vector<Eigen::Vector3i>& triangles);

/// The parts of a mesh that share no edge.
struct MeshPieces {
  std::vector<int> of_triangle;  ///< #T, from 0 in the order of their first triangles.
  int count = 0;
};
MeshPieces piecesOf(const MeshTopology& topology);

}  // namespace holdshelf
