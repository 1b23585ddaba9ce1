// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstddef>
#include <span>
#include <string>
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

/// glTF 2.0 binary for screens: positions in 16 bit (steps below 1/200 mm for a hold of 300 mm),
/// normals and colours in 8 bit (KHR_mesh_quantization, ratified by the Khronos Group). 18 bytes a
/// vertex where glbBytes() takes 32. Metres and axes as in glbBytes(). Extra attributes, for heat
/// maps: _GUESSWORK (0 or 1) and, where given, _VALUE (float).
///
/// @param value  One a vertex, or empty.
std::string viewGlb(const TriangleMesh& mesh, std::span<const float> value = {});

}  // namespace holdshelf
