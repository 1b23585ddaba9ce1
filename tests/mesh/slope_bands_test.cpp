// SPDX-License-Identifier: Apache-2.0
#include "mesh/slope_bands.h"

#include <doctest/doctest.h>

#include <cmath>
#include <string>
#include <vector>

#include "tests/shapes/plain_meshes.h"

using namespace holdshelf;

namespace {

SlopeBands mapOf(const std::vector<std::string>& rows) {
  SlopeBands map{static_cast<int>(rows[0].size()), static_cast<int>(rows.size()), {}, {}, {}};
  for (const std::string& row : rows)
    for (const char c : row) map.band.push_back(static_cast<std::int16_t>(c == '.' ? -1 : c - '0'));
  map.depth_mm.assign(map.band.size(), 100);
  map.light.assign(map.band.size(), 1);
  return map;
}

}  // namespace

TEST_CASE("slopeBandsOf: a plane of one slope is of one band, guesswork is of none") {
  TriangleMesh mesh = parallelogram({0, 0, 0}, {20, 0, 0}, {0, 20, 0});
  const RasterCamera camera = fitOrthographic(mesh, {0, 0, 1}, {0, 1, 0}, 40, 40, 0.1);
  const std::vector<float> slope(4, 44.9F);
  const SlopeBands map = slopeBandsOf(mesh, slope, camera);
  CHECK(map.band[map.index(20, 20)] == 2);
  CHECK(map.band[map.index(1, 1)] == -1);
  CHECK(map.light[map.index(20, 20)] == doctest::Approx(1));
  CHECK(map.depth_mm[map.index(20, 20)] == doctest::Approx(1));
  mesh.guesswork.assign(4, 1);
  CHECK(slopeBandsOf(mesh, slope, camera).band[map.index(20, 20)] == kUnseenBand);
}

TEST_CASE("patchesOf: by sides, not corners; nothing is no patch") {
  const auto patches = patchesOf(mapOf({"11.2", "1.2.", "..22"}));
  REQUIRE(patches.size() == 3);
  CHECK(patches[0].pixels.size() == 3);
  CHECK(patches[1].pixels.size() == 1);  // Touches the next but at a corner.
  CHECK(patches[2].pixels.size() == 3);
}

TEST_CASE("dropSpecks: what is small takes the band before it, what is larger stays") {
  SlopeBands map = mapOf({"1121", "1133", "1133"});
  dropSpecks(map, 1);
  CHECK(map.band == mapOf({"1111", "1133", "1133"}).band);
}

TEST_CASE("bandColour: each band is darker in grey than the one before") {
  const auto grey = [](int band) {
    const Rgb c = bandColour(band);
    return 0.2126 * std::pow(c[0], 2.2) + 0.7152 * std::pow(c[1], 2.2) +
           0.0722 * std::pow(c[2], 2.2);
  };
  for (int band = 1; band < kSlopeBands; ++band) CHECK(grey(band) < grey(band - 1));
}

TEST_CASE("paintedBands: white where nothing is, black round the shape, the band's colour within") {
  std::vector<std::string> rows(40, std::string(40, '.'));
  for (int y = 8; y < 32; ++y) rows[static_cast<std::size_t>(y)].replace(8, 24, 24, '1');
  const RasterImage image = paintedBands(mapOf(rows), 4, 2);
  const auto at = [&](int x, int y) {
    const std::uint8_t* p = &image.rgb[static_cast<std::size_t>(3 * (y * image.width_px + x))];
    return Rgb{p[0], p[1], p[2]};
  };
  CHECK(image.width_px == 20);
  CHECK(at(1, 1) == Rgb{255, 255, 255});
  CHECK(at(4, 10) == Rgb{0, 0, 0});
  CHECK(at(10, 10) == bandColour(1));
}
