// SPDX-License-Identifier: Apache-2.0
#include "capture/silhouette.h"

#include <doctest/doctest.h>

#include <filesystem>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "capture/cameras_file.h"
#include "mesh/bad_input.h"
#include "tests/capture/drum_scene.h"

using namespace holdshelf;
using test::MatScene;
using test::overlap;

namespace {

struct Scene : test::DrumPhotos {
  SilhouetteInput input;

  explicit Scene(const std::array<std::uint8_t, 3>& colour) : DrumPhotos(colour) {
    input.mat = world.mat;
    input.mat_points_H_mm = world.points_H_mm;
  }
};

/// Largest depth, px, by which `mask` leaves out of `truth`.
double deepestCut(const cv::Mat& mask, const cv::Mat& truth) {
  cv::Mat depth;
  cv::distanceTransform(truth, depth, cv::DIST_L2, 5);
  depth.setTo(0, mask);
  double deepest;
  cv::minMaxLoc(depth, nullptr, &deepest);
  return deepest;
}

}  // namespace

TEST_CASE("findSilhouettes: a hold on a mat, before clutter, with a moving shadow") {
  for (const std::array<std::uint8_t, 3>& colour :
       {std::array<std::uint8_t, 3>{200, 60, 40}, {70, 70, 72}}) {
    CAPTURE(int(colour[0]));
    Scene scene(colour);
    const auto verdicts = findSilhouettes(scene.views, scene.input, {});
    REQUIRE(verdicts.size() == scene.views.size());
    double sum = 0;
    for (std::size_t i = 0; i < verdicts.size(); ++i) {
      CAPTURE(i);
      REQUIRE(verdicts[i].used());
      const cv::Mat& mask = scene.views[i].mask;
      REQUIRE(mask.size() == scene.views[i].bgr.size());
      sum += overlap(mask, scene.truth[i]);
      CHECK(overlap(mask, scene.truth[i]) > 0.93);
      CHECK(deepestCut(mask, scene.truth[i]) < 5);
    }
    MESSAGE("mean overlap ", sum / double(verdicts.size()));
    CHECK(sum / double(verdicts.size()) > 0.965);
  }
}

TEST_CASE("findSilhouettes: a photo of something else is not used, the others are") {
  Scene scene({200, 60, 40});
  // The fifth photo shows the mat without the hold and a red patch elsewhere.
  scene.views[4] = scene.world.photograph({}, scene.views[4].camera, {500, 500}, 5, nullptr);
  const auto verdicts = findSilhouettes(scene.views, scene.input, {});
  for (std::size_t i = 0; i < verdicts.size(); ++i) {
    CAPTURE(i);
    CHECK(verdicts[i].used() == (i != 4));
    CHECK(scene.views[i].mask.empty() == (i == 4));
  }
  CHECK(verdicts[4].confidence < 0.5);
}

TEST_CASE("findSilhouettes: no hold, too few photos, interrupted") {
  Scene scene({200, 60, 40});
  for (auto& view : scene.views)
    view = scene.world.photograph({}, view.camera, {500, 500}, 5, nullptr);
  CHECK_THROWS_AS(findSilhouettes(scene.views, scene.input, {}), BadInput);
  CHECK_THROWS_AS(
      findSilhouettes(scene.views, scene.input, [](const std::string&, double) { return false; }),
      Interrupted);
  scene.views.resize(2);
  CHECK_THROWS_AS(findSilhouettes(scene.views, scene.input, {}), BadInput);
}

TEST_CASE("findSilhouettes: known cameras and a plain dark background") {
  const TriangleMesh mesh = test::twoDrums({210, 205, 190});
  std::vector<View> views;
  std::vector<cv::Mat> truth;
  const MatScene world;
  for (int k = 0; k < 12; ++k) {
    cv::Mat mask;
    View view = world.photograph(mesh, MatScene::camera(30 * k, k % 2 ? 50 : 20), {0, 0},
                                 unsigned(k), &mask);
    cv::Mat dark(view.bgr.size(), CV_8UC3);
    cv::randn(dark, cv::Scalar(9, 9, 10), cv::Scalar(3, 3, 3));
    dark.copyTo(view.bgr, mask == 0);
    views.push_back(view);
    truth.push_back(mask);
  }
  SilhouetteInput input;
  input.floor_z_mm = -std::numeric_limits<double>::infinity();
  const auto verdicts = findSilhouettes(views, input, {});
  for (std::size_t i = 0; i < views.size(); ++i) {
    CAPTURE(i);
    REQUIRE(verdicts[i].used());
    CHECK(overlap(views[i].mask, truth[i]) > 0.97);
  }
}

// Middlebury dinoSparseRing (Seitz et al., CVPR 2006); silhouettes by the threshold in its README.
TEST_CASE("findSilhouettes: a gap between parts, before a dim stand, stays open in real photos") {
  const auto folder = std::filesystem::path(HOLDSHELF_SOURCE_DIR) / "../shared/realdata/dino16";
  if (!std::filesystem::exists(folder / "dinoSR_par.txt")) {
    MESSAGE("skipped: ../shared/realdata/dino16 is not there");
    return;
  }
  std::vector<View> views;
  for (const auto& [photo, camera] : readCameras(folder / "dinoSR_par.txt", 1000)) {
    View view;
    view.photo = photo;
    view.bgr = cv::imread((folder / photo).string());
    REQUIRE(!view.bgr.empty());
    view.camera = camera;
    view.camera.model.width_px = view.bgr.cols;
    view.camera.model.height_px = view.bgr.rows;
    views.push_back(view);
  }
  SilhouetteInput input;
  input.box_mm = Eigen::AlignedBox3d(Eigen::Vector3d(-61.897, -18.874, -57.845),
                                     Eigen::Vector3d(10.897, 68.227, 15.495));
  input.floor_z_mm = -std::numeric_limits<double>::infinity();
  findSilhouettes(views, input, {});
  const View& view = views.at(7);  // Looks through between head and base.
  REQUIRE(view.photo == "dinoSR0008.png");
  cv::Mat grey;
  cv::cvtColor(view.bgr, grey, cv::COLOR_BGR2GRAY);
  CHECK(overlap(view.mask, grey > 0.19 * 255) > 0.97);  // 0.93 with the gap closed.
}
