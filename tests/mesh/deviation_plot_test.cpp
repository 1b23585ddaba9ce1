// SPDX-License-Identifier: Apache-2.0
#include "mesh/deviation_plot.h"

#include <doctest/doctest.h>

#include <cmath>

#include "mesh/png.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using Eigen::Vector3d;

namespace {

/// Pixels that are clearly more red than blue, and the other way round, right of the words.
std::pair<int, int> redAndBlue(const Plot& plot) {
  const RasterImage image = decodePng({plot.png.begin(), plot.png.end()}, "plot.png");
  int red = 0, blue = 0;
  for (int y = 224; y < 840; ++y)
    for (int x = 0; x < image.width_px; ++x) {
      const std::uint8_t* p = &image.rgb[3 * static_cast<std::size_t>(y * image.width_px + x)];
      red += p[0] > p[2] + 60 ? 1 : 0;
      blue += p[2] > p[0] + 60 ? 1 : 0;
    }
  return {red, blue};
}

}  // namespace

TEST_CASE("plotDeviation: what is gone is red, what is more is blue, below the limit is neither") {
  const ExactHold hold = domeHold(45, 35);
  const TriangleMesh mesh = meshSdf(hold.solid, hold.box_mm, 1.5);
  Deviation deviation;
  deviation.limit_mm = 0.2;
  const auto map = [&](double near_mm, double elsewhere_mm) {
    deviation.signed_mm.clear();
    for (const Vector3d& v : mesh.vertices_mm)
      deviation.signed_mm.push_back(
          static_cast<float>((v - Vector3d(10, 10, 33)).norm() < 10 ? near_mm : elsewhere_mm));
  };
  map(0.15, -0.15);
  auto [red, blue] = redAndBlue(plotDeviation(mesh, deviation, "H-1: none seen", {}));
  CHECK(red == 0);
  CHECK(blue == 0);
  map(-0.4, 0.1);
  deviation.pieces.push_back({Vector3d(10, 10, 33), {}, 300, 0.4});
  std::tie(red, blue) = redAndBlue(plotDeviation(mesh, deviation, "H-1: chipped", {}));
  CHECK(red > 500);
  CHECK(blue == 0);
  map(0.4, 0.1);
  std::tie(red, blue) = redAndBlue(plotDeviation(mesh, deviation, "H-1: none seen", {}));
  CHECK(red == 0);
  CHECK(blue > 500);
}

TEST_CASE("deviationScale_mm: the legend reaches past the deepest loss and twice the limit") {
  Deviation deviation;
  deviation.limit_mm = 0.1;
  CHECK(deviationScale_mm(deviation) == 0.2);
  deviation.limit_mm = 0.24;
  CHECK(deviationScale_mm(deviation) == 0.5);
  deviation.pieces.push_back({Vector3d::Zero(), {}, 10, 1.3});
  CHECK(deviationScale_mm(deviation) == 2);
  deviation.pieces.push_back({Vector3d::Zero(), {}, 10, 30});
  CHECK(deviationScale_mm(deviation) == 10);
}
