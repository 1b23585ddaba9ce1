// SPDX-License-Identifier: Apache-2.0
#include "mesh/texture_cells.h"

#include <doctest/doctest.h>

#include <cmath>

#include "mesh/mesh_io.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;

TEST_CASE("withTexture, textureIn: what goes into a mesh file comes out, and the mesh stays") {
  const ExactHold hold = domeHold(40, 30);
  const TriangleMesh mesh = meshSdf(hold.solid, hold.box_mm, 5);
  const std::string plain = plyBytes(mesh);
  CHECK(withTexture(plain, {}) == plain);
  CHECK(textureIn(plain).cells.empty());

  TextureCells texture{8, {{{1.5, -2.25, 30}, 0.125, 0.0625}, {{0, 4, 12}, 0.5, 0.25}}};
  const std::string bytes = withTexture(plain, texture);
  const TextureCells back = textureIn(bytes);
  CHECK(back.cell_mm == 8);
  REQUIRE(back.cells.size() == 2);
  CHECK(back.cells[0].at_mm == Eigen::Vector3d(1.5, -2.25, 30));
  CHECK(back.cells[0].contrast == 0.125);
  CHECK(back.cells[1].sigma == 0.25);
  const TriangleMesh same = parseMesh(bytes, "hold.ply");
  CHECK(same.triangles == mesh.triangles);
  CHECK(plyBytes(same) == plyBytes(parseMesh(plain, "hold.ply")));
}

TEST_CASE("textureIn: cut and damaged files give no texture instead of a wrong one") {
  TextureCells texture{8, {{{1, 2, 3}, 0.1, 0.01}}};
  const std::string bytes = withTexture(plyBytes({}), texture);
  REQUIRE(textureIn(bytes).cells.size() == 1);
  for (std::size_t size = 0; size < bytes.size(); ++size) {
    CAPTURE(size);
    CHECK(textureIn(std::string_view(bytes).substr(0, size)).cells.empty());
  }
  std::string more = bytes;
  more.replace(more.find("texture 1"), 9, "texture 9");
  CHECK(textureIn(more).cells.empty());
}

TEST_CASE("textureIn: numbers that are none, and more cells than a hold has, are no texture") {
  const TextureCells good{8, {{{1, 2, 3}, 0.1, 0.01}, {{4, 5, 6}, 0, 0}}};
  const std::string ply = plyBytes({});
  REQUIRE(textureIn(withTexture(ply, good)).cells.size() == 2);
  const double none = std::nan(""), endless = HUGE_VAL;
  for (const TextureCell& wrong : {TextureCell{{none, 2, 3}, 0.1, 0.01},
                                   {{1, endless, 3}, 0.1, 0.01},
                                   {{1, 2, 3}, none, 0.01},
                                   {{1, 2, 3}, -0.1, 0.01},
                                   {{1, 2, 3}, 0.1, endless}}) {
    TextureCells texture = good;
    texture.cells[1] = wrong;
    CHECK(textureIn(withTexture(ply, texture)).cells.empty());
  }
  CHECK(textureIn(withTexture(ply, {0, good.cells})).cells.empty());
  TextureCells many{8, std::vector<TextureCell>(100'000, good.cells[0])};
  CHECK(textureIn(withTexture(ply, many)).cells.size() == 100'000);
  many.cells.push_back(good.cells[0]);
  CHECK(textureIn(withTexture(ply, many)).cells.empty());
}
