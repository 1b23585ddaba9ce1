// SPDX-License-Identifier: Apache-2.0
#include "mesh/view_mesh.h"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>

#include "tests/shapes/sdf.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;

namespace {

TriangleMesh ball() {
  return meshSdf(translate(sphere(30), {0, 0, 5}),
                 {Eigen::Vector3d(-31, -31, -26), Eigen::Vector3d(31, 31, 36)}, 1.5);
}

}  // namespace

TEST_CASE("simplifiedForView: a ball of few triangles is still that ball") {
  const TriangleMesh mesh = ball(), light = simplifiedForView(mesh, 1200);
  REQUIRE(mesh.triangles.size() > 5000);
  CHECK(light.triangles.size() <= 1200);
  CHECK(isWatertight(light));
  double worst = 0;
  for (const auto& t : light.triangles) {
    const Eigen::Vector3d middle =
        (light.vertices_mm[t[0]] + light.vertices_mm[t[1]] + light.vertices_mm[t[2]]) / 3;
    worst = std::max(worst, std::abs((middle - Eigen::Vector3d(0, 0, 5)).norm() - 30));
  }
  // 1200 even triangles on a ball of 30 mm have edges of some 4.7 mm: a sagitta of 0.12 mm at their
  // middles; edges need not be even.
  CHECK(worst < 0.4);
}

TEST_CASE("keptValues: every vertex that stays keeps its own value") {
  const TriangleMesh mesh = ball(), light = simplifiedForView(mesh, 1200);
  std::vector<float> heights;
  for (const auto& v : mesh.vertices_mm) heights.push_back(static_cast<float>(v.z()));
  heights[0] = std::numeric_limits<float>::quiet_NaN();
  const std::vector<float> kept = keptValues(light, mesh, heights);
  REQUIRE(kept.size() == light.vertices_mm.size());
  int wrong = 0;
  for (std::size_t i = 0; i < kept.size(); ++i)
    wrong += !std::isnan(kept[i]) && kept[i] != static_cast<float>(light.vertices_mm[i].z());
  CHECK(wrong == 0);
}
