// SPDX-License-Identifier: Apache-2.0
#include "mesh/mesh_io.h"
#include "mesh/texture_cells.h"
#include "tests/reliability/fuzz/target.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;

namespace {

std::vector<std::string> seeds() {
  const ExactHold solid = domeHold(30, 20);
  TextureCells texture;
  texture.cell_mm = 8;
  texture.cells.resize(3);
  const std::string binary = plyBytes(meshSdf(solid.solid, solid.box_mm, 16));
  const std::string text =
      "ply\nformat ascii 1.0\ncomment a corner\nelement vertex 3\nproperty float x\nproperty float "
      "y\nproperty float z\nproperty uchar red\nproperty float sigma_mm\nelement face 1\nproperty "
      "list uchar int vertex_indices\nend_header\n0 0 0 9 .1\n1 0 0 9 .1\n0 1 0 9 .1\n3 0 1 2\n";
  return {binary, withTexture(binary, texture), text};
}

const test::FuzzTarget target(
    "ply",
    [](const std::string& bytes) {
      (void)textureIn(bytes);
      (void)parseMesh(bytes, "hold.ply");
    },
    seeds);

}  // namespace
