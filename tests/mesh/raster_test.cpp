// SPDX-License-Identifier: Apache-2.0
#include "mesh/raster.h"

#include <doctest/doctest.h>

#include <chrono>
#include <cmath>

using namespace holdshelf;

namespace {

/// A sphere of rings x 2 rings quadrilaterals, its vertices exactly on the sphere.
TriangleMesh sphere(const Eigen::Vector3d& centre, double radius, int rings) {
  TriangleMesh mesh;
  const int around = 2 * rings;
  for (int i = 0; i <= rings; ++i)
    for (int j = 0; j < around; ++j) {
      const double theta = M_PI * i / rings, phi = 2 * M_PI * j / around;
      mesh.vertices_mm.push_back(centre + radius * Eigen::Vector3d(std::sin(theta) * std::cos(phi),
                                                                   std::sin(theta) * std::sin(phi),
                                                                   std::cos(theta)));
    }
  for (int i = 0; i < rings; ++i)
    for (int j = 0; j < around; ++j) {
      const int a = i * around + j, b = i * around + (j + 1) % around;
      mesh.triangles.emplace_back(a, a + around, b + around);
      mesh.triangles.emplace_back(a, b + around, b);
    }
  return mesh;
}

/// Two triangles of the plane through `origin` with sides u and v.
TriangleMesh parallelogram(const Eigen::Vector3d& origin, const Eigen::Vector3d& u,
                           const Eigen::Vector3d& v) {
  TriangleMesh mesh;
  mesh.vertices_mm = {origin, origin + u, origin + u + v, origin + v};
  mesh.triangles = {{0, 1, 2}, {0, 2, 3}};
  return mesh;
}

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
  const Raster raster = rasterise(sphere({0, 0, d}, r, 120), camera);
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
  CHECK(coveredPixels(rasterise(sphere({0, 0, -100}, 20, 10), camera)) == 0);
  CHECK(coveredPixels(rasterise(sphere({900, 0, 100}, 20, 10), camera)) == 0);
  CHECK(coveredPixels(rasterise(TriangleMesh{}, camera)) == 0);
}

TEST_CASE("rasterNormals: a sphere's normals point from its centre") {
  const TriangleMesh mesh = sphere({0, 0, 0}, 30, 60);
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

TEST_CASE("fitOrthographic: the box fills the picture and up is up") {
  const TriangleMesh mesh = parallelogram({10, 20, 0}, {60, 0, 0}, {0, 30, 0});
  const RasterCamera camera = fitOrthographic(mesh, {0, 0, 1}, {0, 1, 0}, 640, 640, 0.05);
  // From the climber's side x runs right and y up, in pixels of 0.9 * 640 / 60 a millimetre.
  const Eigen::Vector3d low = camera.project({10, 20, 0}), high = camera.project({70, 50, 0});
  CHECK(low.x() == doctest::Approx(0.05 * 640 - 0.5));
  CHECK(high.x() - low.x() == doctest::Approx(0.9 * 640));
  CHECK(low.y() - high.y() == doctest::Approx(0.45 * 640));
  CHECK(coveredPixels(rasterise(mesh, camera)) ==
        doctest::Approx(0.9 * 640 * 0.45 * 640).epsilon(0.01));
}

TEST_CASE("renderTurntableViews: colours, background and light") {
  TriangleMesh mesh = sphere({0, 0, 0}, 30, 40);
  mesh.colours.assign(mesh.vertices_mm.size(), {200, 30, 30});
  ShadeOptions options;
  options.background = {1, 2, 3};
  const auto views = renderTurntableViews(mesh, 4, 25, 100, 80, options);
  REQUIRE(views.size() == 4);
  for (const RasterImage& image : views) {
    REQUIRE(image.rgb.size() == 100u * 80 * 3);
    CHECK(image.rgb[0] == 1);
    CHECK(image.rgb[2] == 3);
    const std::uint8_t* middle = &image.rgb[(40 * 100 + 50) * 3];
    CHECK(middle[0] > 100);
    CHECK(middle[1] < 60);
    // The lamp is at the upper left: the lower right is darker.
    const auto at = [&](int x, int y) { return int(image.rgb[(y * 100 + x) * 3]); };
    CHECK(at(38, 28) > at(65, 58) + 20);
  }
}

TEST_CASE("mapColour: ends, middle and no value") {
  CHECK(mapColour(ColourMap::Diverging, 0.5)[0] > 235);
  CHECK(mapColour(ColourMap::Diverging, -3) == mapColour(ColourMap::Diverging, 0));
  CHECK(mapColour(ColourMap::Sequential, 7) == mapColour(ColourMap::Sequential, 1));
  CHECK(mapColour(ColourMap::Sequential, NAN) == Rgb{128, 128, 128});
}

TEST_CASE("rasterise: 200 000 triangles at 1600 x 1200 take well under a second") {
  const TriangleMesh mesh = sphere({0, 0, 400}, 100, 224);
  const RasterCamera camera = pinhole(1600, 1200, 2000);
  const auto start = std::chrono::steady_clock::now();
  const Raster raster = rasterise(mesh, camera);
  const double ms =
      std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - start).count();
  CHECK(coveredPixels(raster) > 500000);
  MESSAGE("rasterise, ", mesh.triangles.size(), " triangles: ", ms, " ms");
  CHECK(ms < 1000);  // Aim 50 ms on two free cores; the margin is for busy machines.
}
