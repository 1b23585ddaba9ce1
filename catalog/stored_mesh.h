// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <string_view>

#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// The mesh in a library's file: what intake stored, or what another library brought, whose meshes
/// come in without being repaired or measured again (library_merge.h). Without repeated triangles;
/// an uncertainty that is no number, as older programs stored some, is a large one.
///
/// @param name  Stands in the sentences.
/// @throws BadInput  It is no mesh, or nothing is left of it.
TriangleMesh storedMesh(std::string_view bytes, const std::string& name);

}  // namespace holdshelf
