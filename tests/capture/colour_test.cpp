// SPDX-License-Identifier: Apache-2.0
#include "capture/colour.h"

#include <doctest/doctest.h>

#include "mesh/bad_input.h"
#include "mesh/srgb.h"
#include "tests/capture/drum_scene.h"

using namespace holdshelf;
using test::MatScene;

namespace {

/// A square of 21 x 21 vertices at height z, facing up.
TriangleMesh plate(double z) {
  TriangleMesh mesh;
  for (int y = 0; y <= 20; ++y)
    for (int x = 0; x <= 20; ++x) mesh.vertices_mm.emplace_back(2 * x - 20, 2 * y - 20, z);
  for (int y = 0; y < 20; ++y)
    for (int x = 0; x < 20; ++x) {
      const int a = y * 21 + x;
      mesh.triangles.emplace_back(a, a + 1, a + 22);
      mesh.triangles.emplace_back(a, a + 22, a + 21);
    }
  return mesh;
}

View uniformView(const PosedCamera& camera, const cv::Scalar& bgr) {
  View view;
  view.camera = camera;
  view.bgr = cv::Mat(480, 640, CV_8UC3, bgr);
  return view;
}

}  // namespace

TEST_CASE("colourMesh: one photo with a highlight does not count") {
  std::vector<View> views;
  for (int k = 0; k < 5; ++k)
    views.push_back(uniformView(MatScene::camera(72 * k, 50), {60, 90, 160}));
  views[2].bgr.setTo(cv::Scalar(255, 255, 255));
  TriangleMesh mesh = plate(5);
  colourMesh(mesh, views, {}, {});
  REQUIRE(mesh.colours.size() == mesh.vertices_mm.size());
  for (const auto& c : mesh.colours) {
    CHECK(std::abs(c[0] - 160) < 12);
    CHECK(std::abs(c[1] - 90) < 12);
    CHECK(std::abs(c[2] - 60) < 12);
  }
}

TEST_CASE("colourMesh: what lies behind takes no colour from in front") {
  // A small plate hides the middle of a larger one from the camera above; the other camera, low at
  // the side, sees the middle below it.
  TriangleMesh mesh = plate(5);
  const std::size_t below = mesh.vertices_mm.size();
  TriangleMesh roof = plate(40);
  for (auto& v : roof.vertices_mm) v.head<2>() *= 0.4;
  mesh.vertices_mm.insert(mesh.vertices_mm.end(), roof.vertices_mm.begin(), roof.vertices_mm.end());
  for (const auto& t : roof.triangles)
    mesh.triangles.push_back(t + Eigen::Vector3i::Constant(int(below)));
  const std::vector<View> views = {uniformView(MatScene::camera(0, 89), {0, 0, 200}),
                                   uniformView(MatScene::camera(0, 25), {200, 0, 0})};
  ColourOptions options;
  options.photos_a_vertex = 1;  // The camera above is squarer to everything it sees.
  colourMesh(mesh, views, options, {});
  const auto middle = mesh.colours[10 * 21 + 10], corner = mesh.colours[0],
             top = mesh.colours[below + 10 * 21 + 10];
  CHECK(middle[2] > 150);
  CHECK(middle[0] < 20);
  CHECK(corner[0] > 150);
  CHECK(top[0] > 150);
}

TEST_CASE("colourMesh: relative to the mat's paper, whatever the light") {
  const MatScene scene;
  const TriangleMesh shape = test::twoDrums({150, 90, 40});
  std::vector<View> views;
  for (int k = 0; k < 8; ++k) {
    View view = scene.photograph(shape, MatScene::camera(45 * k, 45), {500, 500}, 3, nullptr);
    // Every other photo is exposed a third less.
    if (k % 2)
      for (cv::Vec3b& c : cv::Mat_<cv::Vec3b>(view.bgr))
        for (int i = 0; i < 3; ++i) c[i] = srgbFromLinear(double(linearFromSrgb(c[i])) * 0.67);
    views.push_back(view);
  }
  ColourOptions options;
  options.mat = scene.mat;
  options.mat_points_H_mm = scene.points_H_mm;
  TriangleMesh mesh = shape;
  colourMesh(mesh, views, options, {});
  // The pictures show 0.6 x the painted colour before white (0.62, 0.60, 0.52): top of the drum.
  RasterCamera camera = MatScene::rasterCamera(views[0].camera);
  ShadeOptions shade;
  shade.occlusion_radius_mm = 0;
  const Raster raster = rasterise(shape, camera);
  const auto pixel = views[0].camera.project({4, -3, 40});
  const auto painted = shadeMesh(shape, camera, raster, {0, 0, 1}, shade);
  const std::size_t i = raster.index(int(pixel->x()), int(pixel->y()));
  const Eigen::Vector3d white = MatScene::white({4, -3});
  for (int c = 0; c < 3; ++c) {
    const double expected = 0.87 * 0.6 * double(linearFromSrgb(painted.rgb[i * 3 + c])) / white[c];
    const double found = double(linearFromSrgb(mesh.colours[5 * 96][c]));
    CHECK(std::abs(found / expected - 1) < 0.12);
  }
}

TEST_CASE("medianColour_srgb: the middle of what stands above the wall") {
  TriangleMesh mesh = plate(5);
  mesh.colours.assign(mesh.vertices_mm.size(), {10, 20, 30});
  mesh.vertices_mm[7].z() = 0;
  mesh.colours[7] = {255, 255, 255};
  const auto c = medianColour_srgb(mesh);
  CHECK(c[0] == doctest::Approx(10 / 255.0));
  CHECK(c[2] == doctest::Approx(30 / 255.0));
  CHECK(medianColour_srgb(plate(0))[1] == 0.5);
}

TEST_CASE("colourMesh: stops when told to") {
  TriangleMesh mesh = plate(5);
  const std::vector<View> views = {uniformView(MatScene::camera(0, 89), {0, 0, 200})};
  CHECK_THROWS_AS(colourMesh(mesh, views, {}, [](const std::string&, double) { return false; }),
                  Interrupted);
}
