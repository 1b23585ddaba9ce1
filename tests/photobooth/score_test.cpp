// SPDX-License-Identifier: Apache-2.0
#include "tests/photobooth/score.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>

#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using Eigen::Vector3d;

namespace {

TriangleMesh grown(const ExactHold& hold, double by_mm) {
  Eigen::AlignedBox3d box = hold.box_mm;
  box.min().array() -= by_mm;
  box.max().array() += by_mm;
  return meshSdf(offset(hold.solid, by_mm), box, 1);
}

Eigen::Isometry3d nudge(double turn_deg, const Vector3d& shift) {
  Eigen::Isometry3d T = Eigen::Isometry3d::Identity();
  T.rotate(Eigen::AngleAxisd(turn_deg * std::numbers::pi / 180, Vector3d(1, 2, 3).normalized()));
  T.pretranslate(shift);
  return T;
}

}  // namespace

TEST_CASE("scoreSurface: a surface everywhere 0.3 mm out scores 0.3 mm") {
  const ExactHold hold = holdNamed("rounded");
  const Score s = scoreSurface(grown(hold, 0.3), Eigen::Isometry3d::Identity(), hold);
  CHECK(s.median_mm == doctest::Approx(0.3).epsilon(0.01));
  CHECK(s.p95_mm == doctest::Approx(0.3).epsilon(0.01));
  CHECK(s.bias_mm == doctest::Approx(0.3).epsilon(0.02));
  CHECK(s.covered > 0.999);
  const Score far = scoreSurface(grown(hold, 0.7), Eigen::Isometry3d::Identity(), hold);
  CHECK(far.covered < 0.001);
}

TEST_CASE("scoreSurface: half a surface covers half") {
  ExactHold hold("ball", translate(sphere(30), {0, 0, 40}),
                 {Vector3d(-30, -30, 10), Vector3d(30, 30, 70)});
  TriangleMesh mesh = meshSdf(hold.solid, hold.box_mm, 1);
  std::erase_if(mesh.triangles, [&](const Eigen::Vector3i& t) {
    return mesh.vertices_mm[static_cast<std::size_t>(t[0])].x() > 0;
  });
  const Score s = scoreSurface(mesh, Eigen::Isometry3d::Identity(), hold);
  CHECK(s.covered == doctest::Approx(0.5).epsilon(0.02));
  CHECK(s.median_mm < 0.02);
}

TEST_CASE("scoreSurface: the wall's nearness and the bolt hole do not count") {
  const ExactHold plain = edgeHold({}), bolted = withBolt(plain, {});
  // The hole is missing in the mesh: without its surroundings nothing is wrong.
  const Score s =
      scoreSurface(meshSdf(plain.solid, plain.box_mm, 1), Eigen::Isometry3d::Identity(), bolted);
  CHECK(s.largest_mm < 0.35);  // Facets across the lip: cell^2 / 4 r and the ends' rounding.
  CHECK(s.covered > 0.999);
  CHECK(scoreSurface(TriangleMesh{}, Eigen::Isometry3d::Identity(), bolted).samples == 0);
}

TEST_CASE("fitToTruth: finds a known motion and a known scale") {
  const ExactHold hold = holdNamed("edge");
  const TriangleMesh exact = meshSdf(hold.solid, hold.box_mm, 0.8);
  const Eigen::Isometry3d T = nudge(0.8, {0.7, -0.4, 0.5});
  const double scale = 1.004;
  TriangleMesh mesh = exact;
  for (Vector3d& p : mesh.vertices_mm) p = (T.inverse() * p) / scale;
  const TruthFit fit = fitToTruth(mesh, Eigen::Isometry3d::Identity(), hold, true);
  CHECK(fit.scale == doctest::Approx(scale).epsilon(2e-4));
  double worst = 0;
  for (std::size_t i = 0; i < exact.vertices_mm.size(); i += 97)
    worst = std::max(
        worst,
        (fit.T_truth_mesh * (fit.scale * mesh.vertices_mm[i]) - exact.vertices_mm[i]).norm());
  CHECK(worst < 0.05);
}

TEST_CASE("statedErrors: every vertex 0.3 mm out, of which those count that state something") {
  const ExactHold hold = holdNamed("rounded");
  TriangleMesh mesh = grown(hold, 0.3);
  mesh.sigma_mm.assign(mesh.vertices_mm.size(), 0.2);
  mesh.guesswork.assign(mesh.vertices_mm.size(), 0);
  const auto I = Eigen::Isometry3d::Identity();
  const auto errors = statedErrors(mesh, I, hold);
  REQUIRE(errors.size() > 1000);
  CHECK(errors.size() < mesh.vertices_mm.size());  // The wall's nearness does not count.
  CHECK(errors.front().error_mm == doctest::Approx(0.3).epsilon(0.05));
  CHECK(shareWithin(errors, 1) == 0);  // 0.3 is one and a half times what is stated.
  CHECK(shareWithin(errors, 2) > 0.99);
  mesh.sigma_mm.assign(mesh.vertices_mm.size(), 0);
  CHECK(statedErrors(mesh, I, hold).empty());
  CHECK(shareWithin({}, 2) == 0);
}

TEST_CASE("samplePoints: even over the area") {
  // Two triangles of areas 3 and 1.
  const TriangleMesh mesh{{{0, 0, 0}, {3, 0, 0}, {0, 2, 0}, {9, 0, 0}, {10, 0, 0}, {9, 2, 0}},
                          {{0, 1, 2}, {3, 4, 5}},
                          {},
                          {},
                          {},
                          {}};
  int left = 0;
  Vector3d mean = Vector3d::Zero();
  for (const Vector3d& p : samplePoints(mesh, 4000, 1))
    if (p.x() < 5) ++left, mean += p;
  CHECK(std::abs(left - 3000) <= 1);
  CHECK((mean / left - Vector3d(1, 2.0 / 3, 0)).norm() < 0.05);  // The centroid.
}
