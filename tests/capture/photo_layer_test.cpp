// SPDX-License-Identifier: Apache-2.0
#include "capture/photo_layer.h"

#include <doctest/doctest.h>

#include "mesh/bad_input.h"
#include "tests/capture/drum_scene.h"

using namespace holdshelf;
using test::MatScene;

namespace {

struct OnePhoto {
  MatScene world;
  std::vector<View> views = {
      world.photograph({}, MatScene::camera(20, 60), {500, 500}, 1, nullptr)};
  PhotoLight light{views, world.mat, world.points_H_mm};
};

}  // namespace

TEST_CASE("PhotoLight: bare paper is white wherever it lies, ink is where the mat has it") {
  const OnePhoto photo;
  const PhotoLayer layer = photo.light.layer(0, 1);
  REQUIRE(layer.ink.size() == photo.views[0].bgr.size());
  int white = 0, black = 0;
  double off = 0;
  for (int y = 0; y < layer.ink.rows; ++y)
    for (int x = 0; x < layer.ink.cols; ++x) {
      if (layer.inkAt(x, y) == MatInk::Black) {
        ++black;
        off += layer.feature(x, y).x() > -1.5f;  // Black ink has 6 %.
      }
      if (layer.inkAt(x, y) != MatInk::White) continue;
      ++white;
      off += (layer.feature(x, y) - Eigen::Vector3f(MatColours::kPaper, 0, 0)).norm() > 0.15f;
    }
  CHECK(white > 10000);
  CHECK(black > 5000);
  CHECK(off < 0.01 * (white + black));
}

TEST_CASE("PhotoLight: a part of a photo is that part of the whole; what is not needed is left") {
  const OnePhoto photo;
  const cv::Rect part(100, 80, 60, 40);
  const PhotoLayer whole = photo.light.layer(0, 1), piece = photo.light.layer(0, 1, part);
  cv::Mat needed(part.size(), CV_8UC1, cv::Scalar(0));
  needed.at<std::uint8_t>(7, 9) = 255;
  const PhotoLayer one = photo.light.layer(0, 1, part, needed);
  for (int y = 0; y < part.height; ++y)
    for (int x = 0; x < part.width; ++x) {
      CHECK(piece.feature(x, y) == whole.feature(x + part.x, y + part.y));
      CHECK(piece.inkAt(x, y) == whole.inkAt(x + part.x, y + part.y));
      if (y != 7 || x != 9) CHECK(one.feature(x, y) == Eigen::Vector3f::Zero());
    }
  CHECK(one.feature(9, 7) == piece.feature(9, 7));
}

TEST_CASE("PhotoLight: a scaled layer has the scaled photo's camera") {
  const OnePhoto photo;
  const PhotoLayer layer = photo.light.layer(0, 0.5);
  CHECK(layer.ink.size() == cv::Size(320, 240));
  const Eigen::Vector3d point(20, -30, 10);
  const auto full = photo.views[0].camera.project(point), half = layer.camera.project(point);
  REQUIRE(full);
  REQUIRE(half);
  // Pixel centres lie at whole numbers: 0.5 from the corner in either.
  CHECK(((*full).array() + 0.5).matrix().isApprox(2 * ((*half).array() + 0.5).matrix(), 1e-9));
}

TEST_CASE("PhotoLight: without a mat the brightest is white; a mat that no photo shows is said") {
  OnePhoto photo;
  const PhotoLight plain(photo.views, std::nullopt, {});
  CHECK_FALSE(plain.mat());
  CHECK(plain.layer(0, 1).inkAt(3, 3) == MatInk::None);
  photo.views[0].camera = MatScene::camera(20, -60);  // From below.
  CHECK_THROWS_AS(PhotoLight(photo.views, photo.world.mat, photo.world.points_H_mm), BadInput);
}

TEST_CASE("masks: a disc more or less, and none at the picture's rim") {
  cv::Mat dot(41, 41, CV_8UC1, cv::Scalar(0));
  dot.at<std::uint8_t>(20, 20) = 255;
  const cv::Mat disc = grown(dot, 6);
  for (int y = 0; y < 41; ++y)
    for (int x = 0; x < 41; ++x) {
      const double r = std::hypot(x - 20, y - 20);
      if (r < 5.2) CHECK(disc.at<std::uint8_t>(y, x) == 255);
      if (r > 6.8) CHECK(disc.at<std::uint8_t>(y, x) == 0);
    }
  CHECK(cv::countNonZero(shrunk(disc, 6) != dot) == 0);
  CHECK(cv::countNonZero(shrunk(cv::Mat(9, 9, CV_8UC1, cv::Scalar(255)), 3)) == 81);
}

TEST_CASE("PhotoLight: photos of a pixel or two are refused where they alone say what is white") {
  View view;
  view.camera = MatScene::camera(20, 60);
  for (const cv::Size size : {cv::Size(1, 1), cv::Size(3, 800), cv::Size(800, 3)}) {
    view.bgr = cv::Mat(size, CV_8UC3, cv::Scalar::all(200));
    const std::vector<View> views = {view};
    CHECK_THROWS_WITH_AS(PhotoLight(views, std::nullopt, {}), doctest::Contains("what is white"),
                         BadInput);
  }
  view.bgr = cv::Mat(4, 4, CV_8UC3, cv::Scalar::all(200));
  const std::vector<View> views = {view};
  CHECK_FALSE(PhotoLight(views, std::nullopt, {}).mat());
}
