// SPDX-License-Identifier: Apache-2.0
#include "capture/mat_bundle.h"

#include <doctest/doctest.h>

#include <random>

#include "capture/mat_file.h"
#include "mesh/bad_input.h"
#include "tests/capture/mat_scene.h"

using namespace holdshelf;

namespace {

/// Corners of a bent sheet as a camera sees them, with Gaussian noise.
std::vector<CornerSighting> sightingsOf(const Mat& mat, const scene::Sheet& sheet,
                                        const CameraModel& camera,
                                        const std::vector<Eigen::Isometry3d>& poses,
                                        double noise_px) {
  std::mt19937 random(7);
  std::normal_distribution<double> noise(0, noise_px);
  std::vector<CornerSighting> out;
  const auto layout = matCorners_M_mm(mat, 1);
  for (size_t p = 0; p < poses.size(); ++p)
    for (size_t c = 0; c < layout.size(); ++c) {
      const Eigen::Vector3d X = sheet.point(layout[c].x(), layout[c].y());
      const auto px = camera.project(poses[p] * X);
      if (!px || px->x() < 0 || px->y() < 0 || px->x() > camera.width_px - 1 ||
          px->y() > camera.height_px - 1)
        continue;
      const Eigen::Vector2d shake(noise(random), noise(random));
      out.push_back({int(p), int(c), *px + shake, std::max(0.01, noise_px), true});
    }
  return out;
}

/// Largest distance of adjusted corners from the true ones after the best rigid motion.
double cornerError(const MatBundle& bundle, const Mat& mat, const scene::Sheet& sheet) {
  const auto layout = matCorners_M_mm(mat, 1);
  Eigen::Matrix3Xd from(3, layout.size()), to(3, layout.size());
  for (size_t c = 0; c < layout.size(); ++c) {
    from.col(Eigen::Index(c)) = bundle.corners_A_mm[c];
    to.col(Eigen::Index(c)) = sheet.point(layout[c].x(), layout[c].y());
  }
  const Eigen::Matrix4d T = Eigen::umeyama(from, to, false);
  return ((T.topLeftCorner<3, 3>() * from).colwise() + T.topRightCorner<3, 1>() - to)
      .colwise()
      .norm()
      .maxCoeff();
}

}  // namespace

TEST_CASE("adjustMatBundle: exact corners of a bent mat give back camera and bend") {
  const Mat mat = scene::borderMat();
  const scene::Sheet sheet{1.4, 0.3};
  const CameraModel camera = scene::phone();
  auto sightings = sightingsOf(mat, sheet, camera, scene::ring(24, 50, 18), 0);
  const auto bundle = adjustMatBundle(matCorners_M_mm(mat, 1), camera.width_px, camera.height_px,
                                      24, sightings, {});
  CHECK(bundle.rms_px < 0.01);
  CHECK(std::abs(bundle.camera.fx_px - camera.fx_px) < 0.05);
  CHECK(std::abs(bundle.camera.fy_px - camera.fy_px) < 0.05);
  CHECK(std::abs(bundle.camera.cx_px - camera.cx_px) < 0.05);
  CHECK(std::abs(bundle.camera.cy_px - camera.cy_px) < 0.05);
  CHECK(cornerError(bundle, mat, sheet) < 0.02);
}

TEST_CASE("adjustMatBundle: one elevation and noise, where a flat mat would mislead the focal") {
  const Mat mat = scene::borderMat();
  const scene::Sheet sheet{1.4, 0.3};
  const CameraModel camera = scene::phone();
  auto sightings = sightingsOf(mat, sheet, camera, scene::ring(30, 56, 0), 0.1);
  const auto bundle = adjustMatBundle(matCorners_M_mm(mat, 1), camera.width_px, camera.height_px,
                                      30, sightings, {});
  // 0.1 px an axis is 0.141 px in length.
  CHECK(bundle.rms_px == doctest::Approx(0.141).epsilon(0.05));
  CHECK(bundle.focal_sigma_px > 0.1);
  CHECK(std::abs(bundle.camera.fx_px - camera.fx_px) < 4 * bundle.focal_sigma_px);
  CHECK(cornerError(bundle, mat, sheet) < 0.15);
}

TEST_CASE("adjustMatBundle: poses come back, also straight above and half turned") {
  const Mat mat = scene::borderMat();
  const scene::Sheet sheet{0, 0};
  const CameraModel camera = scene::phone();
  auto poses = scene::ring(12, 50, 15);
  poses.push_back(scene::lookAt(30, 89.99, 330, 0, {0, 0, 0}));
  poses.push_back(scene::lookAt(0, 60, 330, 180, {0, 0, 0}));
  // The identity turned by pi about x: looking straight down along -z.
  Eigen::Isometry3d down = Eigen::Isometry3d::Identity();
  down.linear() = Eigen::Vector3d(1, -1, -1).asDiagonal();
  down.translation() = Eigen::Vector3d(0, 0, 340);
  poses.push_back(down);
  auto sightings = sightingsOf(mat, sheet, camera, poses, 0);
  const auto bundle = adjustMatBundle(matCorners_M_mm(mat, 1), camera.width_px, camera.height_px,
                                      int(poses.size()), sightings, {});
  for (size_t p = 0; p < poses.size(); ++p) {
    CAPTURE(p);
    const Eigen::Isometry3d off = bundle.T_camera_A[p] * poses[p].inverse();
    CHECK(Eigen::AngleAxisd(off.linear()).angle() < 5e-4);
    CHECK((bundle.T_camera_A[p].inverse().translation() - poses[p].inverse().translation()).norm() <
          0.1);
  }
}

TEST_CASE("adjustMatBundle: false corners are dropped, the others stay") {
  const Mat mat = scene::borderMat();
  const CameraModel camera = scene::phone();
  auto sightings = sightingsOf(mat, {0.8, 0}, camera, scene::ring(20, 50, 15), 0.08);
  for (size_t i = 0; i < sightings.size(); i += 40) sightings[i].px.x() += 6;
  const auto bundle = adjustMatBundle(matCorners_M_mm(mat, 1), camera.width_px, camera.height_px,
                                      20, sightings, {});
  size_t wrongly = 0;
  for (size_t i = 0; i < sightings.size(); ++i) {
    if (i % 40 == 0)
      CHECK_FALSE(sightings[i].used);
    else
      wrongly += !sightings[i].used;
  }
  CHECK(wrongly == 0);
  CHECK(std::abs(bundle.camera.fx_px - camera.fx_px) < 2);
}

TEST_CASE(
    "adjustMatBundle: parameters that the photos do not support stay near their usual value") {
  // A camera without distortion, few photos, the mat small in the middle.
  const Mat mat = scene::borderMat();
  CameraModel camera = scene::phone();
  camera.k1 = camera.k2 = camera.p1 = camera.p2 = 0;
  auto poses = scene::ring(8, 55, 0);
  for (auto& pose : poses) pose.translation().z() += 900;
  auto sightings = sightingsOf(mat, {0, 0}, camera, poses, 0.15);
  const auto bundle =
      adjustMatBundle(matCorners_M_mm(mat, 1), camera.width_px, camera.height_px, 8, sightings, {});
  CHECK(std::abs(bundle.camera.k1) < 0.6);
  CHECK(std::abs(bundle.camera.p1) < 0.01);
  CHECK(std::abs(bundle.camera.fx_px / camera.fx_px - 1) < 0.15);
}

TEST_CASE("adjustMatBundle: corners that form no mat are refused with a sentence") {
  const Mat mat = scene::borderMat();
  std::mt19937 random(3);
  std::uniform_real_distribution<double> anywhere(0, 700);
  std::vector<CornerSighting> sightings;
  for (int p = 0; p < 10; ++p)
    for (int c = 0; c < 4 * mat.markers_size(); ++c)
      sightings.push_back({p, c, {anywhere(random), anywhere(random)}, 0.1, true});
  CHECK_THROWS_AS(adjustMatBundle(matCorners_M_mm(mat, 1), 960, 720, 10, sightings, {}), BadInput);
}
