// SPDX-License-Identifier: Apache-2.0
#include "mesh/raster.h"

#include <doctest/doctest.h>

#include <chrono>
#include <cmath>

#include "tests/complaint.h"
#include "tests/shapes/plain_meshes.h"

using namespace holdshelf;

namespace {

RasterCamera pinhole(int width, int height, double f) {
  RasterCamera camera;
  camera.width_px = width;
  camera.height_px = height;
  camera.fx = camera.fy = f;
  camera.cx = (width - 1) / 2.0 + 0.3;
  camera.cy = (height - 1) / 2.0 - 0.2;
  return camera;
}

long coveredPixels(const Raster& raster) {
  long n = 0;
  for (std::size_t i = 0; i < raster.triangle.size(); ++i) n += raster.covered(i);
  return n;
}

}  // namespace

TEST_CASE("rasterise: depth and weights of a slanted plane are those of the pixel's ray") {
  const Eigen::Vector3d origin(-400, -300, 300), u(900, 0, 250), v(30, 700, -120);
  const TriangleMesh mesh = parallelogram(origin, u, v);
  const RasterCamera camera = pinhole(160, 120, 130);
  const Raster raster = rasterise(mesh, camera);
  const Eigen::Vector3d normal = u.cross(v);
  for (int y = 0; y < 120; y += 7)
    for (int x = 0; x < 160; x += 7) {
      CAPTURE(x);
      CAPTURE(y);
      const std::size_t i = raster.index(x, y);
      REQUIRE(raster.covered(i));
      const Eigen::Vector3d ray((x - camera.cx) / camera.fx, (y - camera.cy) / camera.fy, 1);
      const double depth = normal.dot(origin) / normal.dot(ray);  // Ray meets plane.
      CHECK(std::abs(raster.depth_mm[i] - depth) < 1e-6 * depth + 1e-4);
      const auto& t = mesh.triangles[raster.triangle[i]];
      const double w1 = raster.weights[i].x(), w2 = raster.weights[i].y();
      const Eigen::Vector3d point = (1 - w1 - w2) * mesh.vertices_mm[t[0]] +
                                    w1 * mesh.vertices_mm[t[1]] + w2 * mesh.vertices_mm[t[2]];
      CHECK((point - depth * ray).norm() < 1e-3);
    }
}

TEST_CASE("rasterise: the nearest surface wins whatever the order") {
  for (bool swapped : {false, true}) {
    CAPTURE(swapped);
    TriangleMesh mesh = parallelogram({-100, -100, 200}, {200, 0, 0}, {0, 200, 0});
    const TriangleMesh nearer = parallelogram({-10, -10, 100}, {20, 0, 0}, {0, 20, 0});
    mesh.vertices_mm.insert(mesh.vertices_mm.end(), nearer.vertices_mm.begin(),
                            nearer.vertices_mm.end());
    for (const auto& t : nearer.triangles)
      mesh.triangles.push_back(t + Eigen::Vector3i::Constant(4));
    if (swapped) std::swap(mesh.triangles[0], mesh.triangles[3]);
    const Raster raster = rasterise(mesh, pinhole(101, 101, 100));
    CHECK(raster.depth_mm[raster.index(50, 50)] == doctest::Approx(100));
    CHECK(raster.depth_mm[raster.index(5, 50)] == doctest::Approx(200));
  }
}

TEST_CASE("rasterise: a sphere covers its disc without a gap") {
  // A sphere of radius r at distance d on the axis is seen as a disc of radius f r/sqrt(d^2 - r^2).
  const double r = 40, d = 300, f = 900;
  const RasterCamera camera = pinhole(400, 400, f);
  const Raster raster = rasterise(latitudeSphere({0, 0, d}, r, 120), camera);
  const double disc = f * r / std::sqrt(d * d - r * r);
  for (int y = 0; y < 400; ++y)
    for (int x = 0; x < 400; ++x) {
      const double out = std::hypot(x - camera.cx, y - camera.cy) - disc;
      // The polyhedron lies inside the sphere by at most its sagitta, here 0.05 px.
      if (std::abs(out) < 0.2) continue;
      CAPTURE(x);
      CAPTURE(y);
      REQUIRE(raster.covered(raster.index(x, y)) == (out < 0));
    }
  CHECK(raster.depth_mm[raster.index(int(std::lround(camera.cx)), int(std::lround(camera.cy)))] ==
        doctest::Approx(d - r).epsilon(1e-3));
}

TEST_CASE("rasterise: what lies behind the camera or out of the picture is not drawn") {
  const RasterCamera camera = pinhole(64, 64, 60);
  CHECK(coveredPixels(rasterise(latitudeSphere({0, 0, -100}, 20, 10), camera)) == 0);
  CHECK(coveredPixels(rasterise(latitudeSphere({900, 0, 100}, 20, 10), camera)) == 0);
  CHECK(coveredPixels(rasterise(TriangleMesh{}, camera)) == 0);
}

TEST_CASE("rasterNormals: a sphere's normals point from its centre") {
  const TriangleMesh mesh = latitudeSphere({0, 0, 0}, 30, 60);
  RasterCamera camera = pinhole(120, 120, 200);
  camera.T_camera_mesh.translation() = Eigen::Vector3d(0, 0, 150);
  const Raster raster = rasterise(mesh, camera);
  const auto normals = rasterNormals(mesh, raster, vertexNormals(mesh));
  for (std::size_t i = 0; i < normals.size(); ++i) {
    if (!raster.covered(i)) continue;
    const auto& t = mesh.triangles[raster.triangle[i]];
    const double w1 = raster.weights[i].x(), w2 = raster.weights[i].y();
    const Eigen::Vector3d p = (1 - w1 - w2) * mesh.vertices_mm[t[0]] + w1 * mesh.vertices_mm[t[1]] +
                              w2 * mesh.vertices_mm[t[2]];
    // Rings are 3 degrees apart; at the poles a triangle's own normal is half of that off.
    CHECK((normals[i].cast<double>() - p.normalized()).norm() < M_PI / 120);
  }
}

TEST_CASE("rasterise: 200 000 triangles at 1600 x 1200 take well under a second") {
  const TriangleMesh mesh = latitudeSphere({0, 0, 400}, 100, 224);
  const RasterCamera camera = pinhole(1600, 1200, 2000);
  const auto start = std::chrono::steady_clock::now();
  const Raster raster = rasterise(mesh, camera);
  const double ms =
      std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - start).count();
  CHECK(coveredPixels(raster) > 500000);
  MESSAGE("rasterise, ", mesh.triangles.size(), " triangles: ", ms, " ms");
  CHECK(ms < 1000);  // Aim 50 ms on two free cores; the margin is for busy machines.
}

TEST_CASE(
    "rasterise: a picture's worth of triangles over one another is refused, flat ones are not") {
  TriangleMesh mesh = parallelogram({-1200, -900, 300}, {2400, 0, 0}, {0, 1800, 0});
  const RasterCamera camera = pinhole(640, 480, 100);
  const Raster once = rasterise(mesh, camera);
  REQUIRE(coveredPixels(once) == 640 * 480);
  const std::vector<Eigen::Vector3i> triangles = mesh.triangles;
  // Each would look at all 3e5 pixels: 2e10 between them if they had an area.
  mesh.triangles.insert(mesh.triangles.end(), 70'000, {1, 0, 1});
  CHECK(coveredPixels(rasterise(mesh, camera)) == 640 * 480);
  mesh.triangles = triangles;
  mesh.triangles.insert(mesh.triangles.end(), 70'000, triangles[0]);
  CHECK(test::complaintOf([&] { rasterise(mesh, camera); }).find("over one another") !=
        std::string::npos);
}
