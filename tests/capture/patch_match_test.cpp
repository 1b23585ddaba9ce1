// SPDX-License-Identifier: Apache-2.0
// Truth: a block whose faces and mat are planes, so every pixel's depth is a ray against a plane.
#include "capture/patch_match.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <vector>

#include "mesh/bad_input.h"
#include "tests/photobooth/camera_rig.h"

using namespace holdshelf;
using Eigen::Vector3d;

namespace {

constexpr double kHalf_mm = 20, kHeight_mm = 30, kDistance_mm = 300;
constexpr int kSize_px = 400;

/// The block -20..20 x -20..20 x 0..30.
TriangleMesh block() {
  TriangleMesh mesh;
  for (int i = 0; i < 8; ++i)
    mesh.vertices_mm.emplace_back(i & 1 ? kHalf_mm : -kHalf_mm, i & 2 ? kHalf_mm : -kHalf_mm,
                                  i & 4 ? kHeight_mm : 0);
  for (const auto& q : {std::array{0, 2, 3, 1}, std::array{4, 5, 7, 6}, std::array{0, 1, 5, 4},
                        std::array{2, 6, 7, 3}, std::array{0, 4, 6, 2}, std::array{1, 3, 7, 5}}) {
    mesh.triangles.emplace_back(q[0], q[1], q[2]);
    mesh.triangles.emplace_back(q[0], q[2], q[3]);
  }
  return mesh;
}

/// Uncorrelated values 0 to 1 at the corners of a lattice, interpolated.
double grain(double x, double y, double pitch_mm, unsigned seed) {
  const auto at = [&](double i, double j) {
    const double s = std::sin(i * 127.1 + j * 311.7 + seed * 74.7) * 43758.5453;
    return s - std::floor(s);
  };
  x /= pitch_mm, y /= pitch_mm;
  const double i = std::floor(x), j = std::floor(y), fx = x - i, fy = y - j;
  return (at(i, j) * (1 - fx) + at(i + 1, j) * fx) * (1 - fy) +
         (at(i, j + 1) * (1 - fx) + at(i + 1, j + 1) * fx) * fy;
}

/// What a ray shows: the smooth block (a few grey levels of grain) or the mat's strong print.
struct Shown {
  double grey, depth_mm;
  bool block;
  Vector3d point;
};

Shown look(const RayScene& scene, const PosedCamera& camera, const Vector3d& ray_camera) {
  const Eigen::Isometry3d T = camera.T_camera_hold.inverse();
  const Vector3d eye = T.translation(), ray = T.linear() * ray_camera;  // Its z is the unit.
  if (const auto hit = scene.firstHit(eye, ray)) {
    const Vector3d p = eye + hit->distance * ray;
    const double g = grain(p.x() + 0.3 * p.z(), p.y() + 0.8 * p.z(), 0.9, 1);
    return {110 + 9 * g, hit->distance, true, p};
  }
  const double reach = -eye.z() / ray.z();
  const Vector3d p = eye + reach * ray;
  return {grain(p.x(), p.y(), 2.5, 2) > 0.5 ? 225. : 25., reach, false, p};
}

PosedCamera cameraAt(double azimuth_deg) {
  PosedCamera c;
  c.model.width_px = c.model.height_px = kSize_px;
  c.model.fx_px = c.model.fy_px = 1100;
  c.model.cx_px = c.model.cy_px = (kSize_px - 1) / 2.0;
  const double a = azimuth_deg * M_PI / 180, e = 20 * M_PI / 180;
  const Vector3d from(std::cos(e) * std::cos(a), std::cos(e) * std::sin(a), std::sin(e));
  const Vector3d target(0, 0, 12);
  c.T_camera_hold = lookAt(target + kDistance_mm * from, target, 0);
  return c;
}

/// Averages 3 x 3 rays a pixel, as a sensor does; the mask is where most of them meet the block.
View photograph(const RayScene& scene, double azimuth_deg) {
  View view;
  view.camera = cameraAt(azimuth_deg);
  view.bgr = cv::Mat(kSize_px, kSize_px, CV_8UC3);
  view.mask = cv::Mat(kSize_px, kSize_px, CV_8UC1, cv::Scalar(0));
  for (int v = 0; v < kSize_px; ++v)
    for (int u = 0; u < kSize_px; ++u) {
      double grey = 0;
      int hits = 0;
      for (int k = 0; k < 9; ++k) {
        const Eigen::Vector2d at(u + (k % 3 - 1) / 3.0, v + (k / 3 - 1) / 3.0);
        const Shown s = look(scene, view.camera, view.camera.model.ray(at));
        grey += s.grey / 9;
        hits += s.block;
      }
      view.bgr.at<cv::Vec3b>(v, u) = cv::Vec3b::all(static_cast<std::uint8_t>(std::lround(grey)));
      if (hits > 4) view.mask.at<std::uint8_t>(v, u) = 255;
    }
  return view;
}

double shareOff(const DepthMap& map, const RayScene& scene, double low_mm, double high_mm,
                double tolerance_mm) {
  int off = 0, all = 0;
  for (int y = 0; y < map.depth_mm.rows; ++y)
    for (int x = 0; x < map.depth_mm.cols; ++x) {
      if (map.depth_mm(y, x) <= 0) continue;
      const Shown s = look(scene, map.camera, map.camera.model.ray(Eigen::Vector2d(x, y)));
      if (!s.block || s.point.z() < low_mm || s.point.z() > high_mm) continue;
      ++all;
      off += std::abs(map.depth_mm(y, x) - s.depth_mm) > tolerance_mm;
    }
  REQUIRE(all > 100);
  return double(off) / all;
}

}  // namespace

TEST_CASE("matchDepth: a smooth block's foot is not drawn to the mat's strong print behind it") {
  const RayScene scene(block());
  std::vector<View> views;
  for (double azimuth : {10., 25., 40., 55., 70., 85.}) views.push_back(photograph(scene, azimuth));
  // The hull allows more than the block, as hulls do, so that it does not give the answer.
  TriangleMesh hull = block();
  for (Vector3d& v : hull.vertices_mm)
    v = Vector3d(v.x() * 1.15, v.y() * 1.15, v.z() > 0 ? v.z() + 3 : 0);
  PatchMatchOptions options;
  options.finest_scale = 1;
  const auto maps =
      matchDepth(views, RayScene(hull), options, [](const std::string&, double) { return true; });
  REQUIRE(maps.size() == views.size());
  double foot = 0, wall = 0;
  for (const DepthMap& map : maps) {
    foot += shareOff(map, scene, 0, 1.2, 1) / double(maps.size());
    wall += shareOff(map, scene, 4, 26, 1) / double(maps.size());
  }
  MESSAGE("off by more than 1 mm: foot " << foot << ", walls " << wall);
  CHECK(wall < 0.1);
  CHECK(foot < 0.1);  // 0.2 where the windows reach to the masks' very edge.
}

TEST_CASE("matchDepth: stops when told to") {
  const RayScene scene(block());
  std::vector<View> views = {photograph(scene, 10), photograph(scene, 25)};
  CHECK_THROWS_AS(matchDepth(views, scene, {}, [](const std::string&, double) { return false; }),
                  Interrupted);
}
