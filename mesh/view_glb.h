// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <span>
#include <string>

#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// glTF 2.0 binary for screens: positions in 16 bit (steps below 1/200 mm for a hold of 300 mm),
/// normals and colours in 8 bit (KHR_mesh_quantization, ratified by the Khronos Group). 18 bytes a
/// vertex where glbBytes() takes 32. Metres and axes as in glbBytes(). Extra attributes, for heat
/// maps: _GUESSWORK (0 or 1) and, where given, _VALUE (float).
///
/// @param value  One a vertex, or empty.
std::string viewGlb(const TriangleMesh& mesh, std::span<const float> value = {});

}  // namespace holdshelf
