// SPDX-License-Identifier: Apache-2.0
// Closed form: the outline of a sphere of radius R, seen from distance D, is a circle of radius
// f R / sqrt(D^2 - R^2) about the image of its centre, so a smaller sphere drawn against the
// outline of a larger one lacks exactly the difference of the radii.
#include "capture/outline_pull.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "mesh/isosurface.h"

using namespace holdshelf;
using Eigen::Vector3d;

namespace {

constexpr double kDistance_mm = 300, kFocal_px = 900;
constexpr int kSize_px = 400;

TriangleMesh sphere(double radius_mm) {
  VoxelGrid grid;
  grid.cell_mm = 1;
  grid.origin_mm = Vector3d::Constant(-radius_mm - 3);
  grid.nodes = Eigen::Vector3i::Constant(int(2 * radius_mm) + 7);
  grid.value.resize(size_t(grid.nodes.prod()));
  for (int z = 0; z < grid.nodes.z(); ++z)
    for (int y = 0; y < grid.nodes.y(); ++y)
      for (int x = 0; x < grid.nodes.x(); ++x)
        grid.value[grid.index(x, y, z)] = float(grid.position_mm(x, y, z).norm() - radius_mm);
  TriangleMesh mesh = isosurface(grid);
  mesh.normals = vertexNormals(mesh);
  return mesh;
}

/// Looks at the origin from a direction round the equator; the mask is a sphere's outline.
View viewOfSphere(double azimuth_rad, double radius_mm) {
  View view;
  CameraModel& m = view.camera.model;
  m.width_px = m.height_px = kSize_px;
  m.fx_px = m.fy_px = kFocal_px;
  m.cx_px = m.cy_px = (kSize_px - 1) / 2.0;
  const Vector3d z(-std::cos(azimuth_rad), -std::sin(azimuth_rad), 0), y(0, 0, -1), x = y.cross(z);
  Eigen::Matrix3d R;
  R << x.transpose(), y.transpose(), z.transpose();
  view.camera.T_camera_hold.linear() = R;
  view.camera.T_camera_hold.translation() = Vector3d(0, 0, kDistance_mm);
  view.mask = cv::Mat(kSize_px, kSize_px, CV_8UC1, cv::Scalar(0));
  const double outline_px =
      kFocal_px * radius_mm / std::sqrt(kDistance_mm * kDistance_mm - radius_mm * radius_mm);
  for (int v = 0; v < kSize_px; ++v)
    for (int u = 0; u < kSize_px; ++u)
      if (std::hypot(u - m.cx_px, v - m.cy_px) < outline_px) view.mask.at<std::uint8_t>(v, u) = 255;
  return view;
}

std::vector<View> viewsOfSphere(double radius_mm) {
  std::vector<View> views;
  for (int i = 0; i < 8; ++i) views.push_back(viewOfSphere(i * M_PI / 4, radius_mm));
  return views;
}

OutlineOptions noDoubt() {
  OutlineOptions options;
  options.doubt_px = 0;
  return options;
}

}  // namespace

TEST_CASE("outline pull: a sphere too small by 0.8 mm is pulled out by 0.8 mm, only at outlines") {
  const TriangleMesh mesh = sphere(30);
  const auto pulls = outlinePulls(mesh, viewsOfSphere(30.8), noDoubt());
  REQUIRE(pulls.size() == mesh.vertices_mm.size());
  double sum = 0;
  int pulled = 0;
  for (const OutlinePull& pull : pulls)
    if (pull.sigma_mm > 0) {
      sum += pull.offset_mm;
      ++pulled;
      CHECK(pull.offset_mm == doctest::Approx(0.8).epsilon(0.25));
    }
  REQUIRE(pulled > 100);
  CHECK(sum / pulled == doctest::Approx(0.8).epsilon(0.06));
  // Eight great circles cover some of the surface, not all of it.
  CHECK(pulled < int(pulls.size()) / 2);
}

TEST_CASE("outline pull: a sphere too large is pulled in, and one that fits stays") {
  const TriangleMesh mesh = sphere(30);
  for (const double radius_mm : {29.4, 30.0}) {
    double sum = 0;
    int pulled = 0;
    for (const OutlinePull& pull : outlinePulls(mesh, viewsOfSphere(radius_mm), noDoubt()))
      if (pull.sigma_mm > 0) {
        sum += pull.offset_mm;
        ++pulled;
      }
    REQUIRE(pulled > 100);
    CHECK(std::abs(sum / pulled - (radius_mm - 30)) < 0.05);
  }
}

TEST_CASE("outline pull: what the doubt of the mask explains does not pull") {
  const TriangleMesh mesh = sphere(30);
  OutlineOptions options;
  options.doubt_px = 1;  // 0.33 mm here.
  double sum = 0, largest = 0;
  int pulled = 0;
  for (const OutlinePull& pull : outlinePulls(mesh, viewsOfSphere(30.8), options))
    if (pull.sigma_mm > 0) {
      sum += pull.offset_mm;
      ++pulled;
    }
  REQUIRE(pulled > 100);
  CHECK(std::abs(sum / pulled - (0.8 - kDistance_mm / kFocal_px)) < 0.05);
  for (const OutlinePull& pull : outlinePulls(mesh, viewsOfSphere(30.15), options))
    if (pull.sigma_mm > 0) largest = std::max(largest, std::abs(pull.offset_mm));
  CHECK(largest < 0.05);  // Half a pixel too small: nothing to mend.
}

TEST_CASE("outline pull: an outline far off, a missing mask and a frame say nothing") {
  const TriangleMesh mesh = sphere(30);
  const auto silent = [&](const std::vector<View>& views) {
    for (const OutlinePull& pull : outlinePulls(mesh, views))
      if (pull.sigma_mm > 0) return false;
    return true;
  };
  CHECK(silent(viewsOfSphere(36)));  // 18 px off: a mistake of the mask.
  std::vector<View> views = viewsOfSphere(30.8);
  for (View& view : views) view.mask.release();
  CHECK(silent(views));
  views = viewsOfSphere(30.8);
  for (View& view : views) {  // Cut to a window inside the sphere: the mask fills the frame.
    view.mask = view.mask(cv::Rect(150, 150, 100, 100)).clone();
    view.camera.model.cx_px -= 150;
    view.camera.model.cy_px -= 150;
    view.camera.model.width_px = view.camera.model.height_px = 100;
  }
  CHECK(silent(views));
}
