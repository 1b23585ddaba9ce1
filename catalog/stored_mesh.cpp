// SPDX-License-Identifier: Apache-2.0
#include "catalog/stored_mesh.h"

#include "mesh/mesh_io.h"
#include "mesh/repair.h"

namespace holdshelf {

TriangleMesh storedMesh(std::string_view bytes, const std::string& name) {
  return withoutRepeats(parseMesh(bytes, name, {.any_sigma = true}));
}

}  // namespace holdshelf
