// SPDX-License-Identifier: Apache-2.0
#include "capture/focal_scan.h"

#include <doctest/doctest.h>

#include <random>

#include "capture/mat_file.h"
#include "mesh/bad_input.h"
#include "tests/capture/mat_scene.h"

using namespace holdshelf;

namespace {

/// Exact corners of a flat mat.
std::vector<CornerSighting> sightingsOf(const std::vector<Eigen::Vector2d>& layout,
                                        const CameraModel& camera,
                                        const std::vector<Eigen::Isometry3d>& poses) {
  std::vector<CornerSighting> out;
  for (size_t p = 0; p < poses.size(); ++p)
    for (size_t c = 0; c < layout.size(); ++c)
      if (const auto px =
              camera.project(poses[p] * Eigen::Vector3d(layout[c].x(), layout[c].y(), 0)))
        out.push_back({int(p), int(c), *px, 0.1, true});
  return out;
}

}  // namespace

TEST_CASE("planarPose: an exact view gives back its pose; three corners give none") {
  const auto layout = matCorners_M_mm(scene::borderMat(), 1);
  const CameraModel camera = scene::phone();
  const auto poses = scene::ring(6, 40, 10);
  const auto sightings = sightingsOf(layout, camera, poses);
  const SeenByPhoto seen = groupByPhoto(sightings, 6);
  for (size_t p = 0; p < poses.size(); ++p) {
    CAPTURE(p);
    double median_px = 1;
    const auto pose = planarPose(layout, seen[p], camera, &median_px);
    REQUIRE(pose);
    CHECK(median_px < 1e-3);
    CHECK((pose->matrix() - poses[p].matrix()).cwiseAbs().maxCoeff() < 1e-2);
  }
  CHECK_FALSE(planarPose(layout, {seen[0].begin(), seen[0].begin() + 3}, camera, nullptr));
}

TEST_CASE("groupByPhoto: by photo, without those that are out of use") {
  const std::vector<CornerSighting> sightings = {
      {1, 0, {1, 1}, 0.1, true}, {0, 0, {2, 2}, 0.1, true}, {1, 1, {3, 3}, 0.1, false}};
  const SeenByPhoto seen = groupByPhoto(sightings, 3);
  REQUIRE(seen.size() == 3);
  CHECK(seen[0].size() == 1);
  CHECK(seen[1] == std::vector<const CornerSighting*>{&sightings[0]});
  CHECK(seen[2].empty());
}

TEST_CASE("scanFocal: within a step of the true focal length, with a guess or without") {
  const auto layout = matCorners_M_mm(scene::borderMat(), 1);
  CameraModel camera = scene::phone();
  camera.k1 = camera.k2 = camera.k3 = camera.p1 = camera.p2 = 0;
  for (const double guess : {0.0, 1.1}) {
    CAPTURE(guess);
    const auto sightings = sightingsOf(layout, camera, scene::ring(12, 45, 15));
    const CameraModel found = scanFocal(layout, camera.width_px, camera.height_px,
                                        groupByPhoto(sightings, 12), guess * camera.fx_px);
    CHECK(std::abs(std::log(found.fx_px / camera.fx_px)) < std::log(1.06));
    CHECK(found.width_px == camera.width_px);
    CHECK(found.cx_px == (camera.width_px - 1) / 2.0);
  }
}

TEST_CASE("scanFocal: corners that form no mat are refused") {
  const auto layout = matCorners_M_mm(scene::borderMat(), 1);
  std::mt19937 random(3);
  std::uniform_real_distribution<double> anywhere(0, 700);
  std::vector<CornerSighting> sightings;
  for (int p = 0; p < 10; ++p)
    for (int c = 0; c < int(layout.size()); ++c)
      sightings.push_back({p, c, {anywhere(random), anywhere(random)}, 0.1, true});
  CHECK_THROWS_AS(scanFocal(layout, 960, 720, groupByPhoto(sightings, 10), 0), BadInput);
}
