// SPDX-License-Identifier: Apache-2.0
#include "capture/hull.h"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>

#include "mesh/bad_input.h"
#include "tests/capture/sphere_views.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

/// How far outside (+) of the exact hull, the intersection of all tangent cones, p lies, mm.
double outsideHull(const std::vector<View>& views, const Eigen::Vector3d& p,
                   const Eigen::Vector3d& centre, double radius) {
  double worst = -1e9;
  for (const View& view : views)
    worst = std::max(worst, outsideCone(view.camera, p, centre, radius) * 350);
  return worst;
}

}  // namespace

TEST_CASE("carveHull: the hull of a sphere is where its tangent cones meet") {
  const Eigen::Vector3d centre(12, -7, 31);
  const double radius = 30;
  const auto views = ring(24, centre, radius);
  HullOptions options;
  options.floor_z_mm = -std::numeric_limits<double>::infinity();
  const Hull hull = carveHull(views, options);
  CHECK(isWatertight(hull.mesh));
  CHECK(hull.mesh.triangles.size() > 20000);
  // A pixel is 0.5 mm here; the outline is found to a fraction of it.
  double worst = 0, sum = 0;
  for (const auto& v : hull.mesh.vertices_mm) {
    const double off = std::abs(outsideHull(views, v, centre, radius));
    worst = std::max(worst, off);
    sum += off;
    CHECK((v - centre).norm() > radius - 0.3);
  }
  MESSAGE("mean ", sum / double(hull.mesh.vertices_mm.size()), " mm, worst ", worst, " mm");
  CHECK(sum / double(hull.mesh.vertices_mm.size()) < 0.1);
  CHECK(worst < 0.5);
  // The grid agrees with the mesh.
  for (std::size_t i = 0; i < hull.mesh.vertices_mm.size(); i += 97)
    CHECK(std::abs(hull.grid.interpolate(hull.mesh.vertices_mm[i])) < 0.05);
}

TEST_CASE("carveHull: the floor cuts the hull flat, a given box bounds it") {
  const Eigen::Vector3d centre(0, 0, 10);
  const auto views = ring(16, centre, 30);
  const Hull hull = carveHull(views);
  CHECK(isWatertight(hull.mesh));
  CHECK(std::abs(hull.box_mm.min().z()) < 0.002);
  HullOptions options;
  options.floor_z_mm = -std::numeric_limits<double>::infinity();
  CHECK(carveHull(views, options).box_mm.min().z() < -19);
  options.box_mm = Eigen::AlignedBox3d(Eigen::Vector3d(-60, -60, 5), Eigen::Vector3d(10, 60, 80));
  const Hull boxed = carveHull(views, options);
  CHECK(isWatertight(boxed.mesh));
  CHECK(std::abs(boxed.box_mm.min().z() - 5) < 0.002);
  CHECK(std::abs(boxed.box_mm.max().x() - 10) < 0.5);
}

TEST_CASE("carveHull: a view says nothing of what lies outside its frame") {
  const Eigen::Vector3d centre(0, 0, 35);
  auto views = ring(16, centre, 30);
  // The fourth camera is turned aside and sees half of the sphere.
  const Eigen::Vector3d eye = views[3].camera.centre_H_mm();
  views[3] = sphereView(lookingAt(eye, centre + Eigen::Vector3d(0, 0, 95)), centre, 30);
  REQUIRE(cv::countNonZero(views[3].mask.row(359)) > 20);
  const Hull hull = carveHull(views);
  for (const auto& v : hull.mesh.vertices_mm) CHECK((v - centre).norm() > 29.6);
}

TEST_CASE("carveHull: one mask that cuts into the hold is outvoted") {
  const Eigen::Vector3d centre(0, 0, 35);
  auto views = ring(24, centre, 30);
  views[5].mask(cv::Rect(0, 0, 240, 360)) = 0;  // Half of the sphere is missing.
  HullOptions options;
  options.outvoted = 0;
  CHECK(carveHull(views, options).box_mm.sizes().minCoeff() < 50);
  options.outvoted = 1;
  CHECK(carveHull(views, options).box_mm.sizes().minCoeff() > 59);
}

TEST_CASE("carveHull: what has no hull is said in a sentence") {
  const Eigen::Vector3d centre(0, 0, 35);
  auto views = ring(16, centre, 30);
  for (std::size_t i = 0; i < views.size(); i += 2)  // Half of the views saw the sphere elsewhere.
    views[i] = sphereView(views[i].camera, centre + Eigen::Vector3d(0, 0, 75), 10);
  CHECK_THROWS_AS(carveHull(views), BadInput);
  for (std::size_t i = 2; i < views.size(); ++i) views[i].mask.release();
  CHECK_THROWS_AS(carveHull(views), BadInput);
}
