// SPDX-License-Identifier: Apache-2.0
#include "mesh/mesh_io.h"
#include "tests/reliability/fuzz/target.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;

namespace {

std::vector<std::string> seeds() {
  const ExactHold solid = domeHold(30, 20);
  return {glbBytes(meshSdf(solid.solid, solid.box_mm, 20))};
}

const test::FuzzTarget target(
    "glb", [](const std::string& bytes) { (void)parseMesh(bytes, "hold.glb"); }, seeds);

}  // namespace
