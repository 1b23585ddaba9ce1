// SPDX-License-Identifier: Apache-2.0
#include "mesh/shade.h"

#include <doctest/doctest.h>

#include "tests/shapes/plain_meshes.h"

using namespace holdshelf;

TEST_CASE("renderTurntableViews: colours, background and light") {
  TriangleMesh mesh = latitudeSphere({0, 0, 0}, 30, 40);
  mesh.colours.assign(mesh.vertices_mm.size(), {200, 30, 30});
  ShadeOptions options;
  options.background = {1, 2, 3};
  const auto views = renderTurntableViews(mesh, 4, 25, 100, 80, options);
  REQUIRE(views.size() == 4);
  for (const RasterImage& image : views) {
    REQUIRE(image.rgb.size() == 100u * 80 * 3);
    CHECK(image.rgb[0] == 1);
    CHECK(image.rgb[2] == 3);
    const std::uint8_t* middle = &image.rgb[(40 * 100 + 50) * 3];
    CHECK(middle[0] > 100);
    CHECK(middle[1] < 60);
    // The lamp is at the upper left: the lower right is darker.
    const auto at = [&](int x, int y) { return int(image.rgb[(y * 100 + x) * 3]); };
    CHECK(at(38, 28) > at(65, 58) + 20);
  }
}

TEST_CASE("shadeMesh: numbers take the map's colours, nothing seen the background") {
  const TriangleMesh mesh = parallelogram({0, 0, 0}, {20, 0, 0}, {0, 20, 0});
  ShadeOptions options;
  options.scalars = {0, 1, 1, 0};  // Rises along x.
  options.map = ColourMap::Diverging;
  options.occlusion_radius_mm = 0;
  const RasterCamera camera = fitOrthographic(mesh, {0, 0, 1}, {0, 1, 0}, 80, 80, 0.1);
  const RasterImage image = renderMesh(mesh, camera, {0, 1, 0}, options);
  const auto at = [&](int x, int y) { return &image.rgb[std::size_t(3 * (y * 80 + x))]; };
  CHECK(at(12, 40)[2] > at(12, 40)[0] + 60);  // Blue where low,
  CHECK(at(68, 40)[0] > at(68, 40)[2] + 60);  // red where high.
  CHECK(int(at(2, 2)[1]) == 255);
}
