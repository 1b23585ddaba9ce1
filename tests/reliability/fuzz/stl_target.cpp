// SPDX-License-Identifier: Apache-2.0
#include "mesh/mesh_io.h"
#include "tests/reliability/fuzz/target.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;

namespace {

std::vector<std::string> seeds() {
  const ExactHold solid = domeHold(30, 20);
  return {stlBytes(meshSdf(solid.solid, solid.box_mm, 16)),
          "solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 1 "
          "0\nendloop\nendfacet\nendsolid a\n"};
}

const test::FuzzTarget target(
    "stl", [](const std::string& bytes) { (void)parseMesh(bytes, "hold.stl"); }, seeds);

}  // namespace
