// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstddef>
#include <span>
#include <vector>

#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// The mesh with at most about so many triangles, for looking at: edges are collapsed where that
/// changes the surface least, and the vertices that stay keep their place and attributes. Never
/// measure on it. A mesh that is small enough already comes back as it is.
///
/// Source: Garland M, Heckbert P, "Surface simplification using quadric error metrics", SIGGRAPH
/// 1997, as in the meshoptimizer library.
TriangleMesh simplifiedForView(const TriangleMesh& mesh, std::size_t triangles);

/// Values of the vertices that simplifiedForView(all) kept, from one for each vertex of `all`.
std::vector<float> keptValues(const TriangleMesh& kept, const TriangleMesh& all,
                              std::span<const float> values);

}  // namespace holdshelf
