// SPDX-License-Identifier: Apache-2.0
#include "capture/mat_background.h"

#include <doctest/doctest.h>

#include "tests/capture/drum_scene.h"

using namespace holdshelf;
using test::MatScene;

TEST_CASE("MatBackground: ink where the markers are, paper between, nothing beyond") {
  const MatScene scene;
  const MatBackground mat(scene.mat, scene.points_H_mm);
  CHECK(mat.ink({0, 0}) == MatInk::White);
  CHECK(mat.ink({120, 0}) == MatInk::None);
  // The border cell of every marker, 2 mm inside its corner of 24 mm / 6 cells, is black.
  for (const auto& marker : scene.mat.markers()) {
    CAPTURE(marker.id());
    const auto &a = marker.corners(0), &c = marker.corners(2);
    CHECK(mat.ink({a.x() + 2, a.y() - 2}) == MatInk::Black);
    CHECK(mat.ink({a.x() + 2, (a.y() + c.y()) / 2}) == MatInk::Black);
    CHECK(mat.ink({a.x(), (a.y() + c.y()) / 2}) == MatInk::Edge);
    CHECK(mat.ink({a.x() - 2.4, (a.y() + c.y()) / 2}) == MatInk::White);
  }
  // Inside, cell by cell, it is what OpenCV prints.
  const auto dictionary = cv::aruco::getPredefinedDictionary(cv::aruco::DICT_4X4_50);
  for (const auto& marker : scene.mat.markers()) {
    cv::Mat bits;
    cv::aruco::drawMarker(dictionary, marker.id(), 6, bits, 1);
    for (int row = 0; row < 6; ++row)
      for (int column = 0; column < 6; ++column) {
        const Eigen::Vector2d middle(marker.corners(0).x() + 4 * column + 2,
                                     marker.corners(0).y() - 4 * row - 2);
        const MatInk expected = bits.at<std::uint8_t>(row, column) ? MatInk::White : MatInk::Black;
        CHECK(mat.ink(middle) == expected);
      }
  }
}

TEST_CASE("MatBackground::meet: rays end on the paper, bent or not") {
  MatScene scene;
  const MatBackground flat(scene.mat, scene.points_H_mm);
  const Eigen::Vector3d eye(0, -300, 100);
  const auto at = flat.meet(eye, Eigen::Vector3d(10, 250, -100));
  REQUIRE(at);
  CHECK((*at - Eigen::Vector2d(10, -50)).norm() < 1e-9);
  CHECK_FALSE(flat.meet(eye, Eigen::Vector3d(0, 1, 0.1)));
  for (auto& p : scene.points_H_mm) p.z() = 1;
  const MatBackground raised(scene.mat, scene.points_H_mm);
  // At a corner the paper lies where the corner was measured: 1 mm up, 2.5 mm nearer along a ray
  // that falls 1 in 2.5.
  const Eigen::Vector3d corner = scene.points_H_mm[0];
  const auto near = raised.meet(eye, corner - eye);
  REQUIRE(near);
  CHECK((*near - corner.head<2>()).norm() < 0.1);
}

TEST_CASE("fitPaperLight: the field of the light, under shadow and a hold") {
  const MatScene scene;
  const MatBackground mat(scene.mat, scene.points_H_mm);
  const TriangleMesh mesh = test::twoDrums({150, 40, 30});
  const View view = scene.photograph(mesh, MatScene::camera(40, 35), {-35, 20}, 5, nullptr);
  const auto light = fitPaperLight(view, mat);
  REQUIRE(light);
  for (const Eigen::Vector2d& p : {Eigen::Vector2d(0, 0), {60, 60}, {-60, 60}, {70, -70}}) {
    const Eigen::Vector3d expected = MatScene::white(p), found = light->white(p).cast<double>();
    CAPTURE(p.transpose());
    for (int c = 0; c < 3; ++c) CHECK(std::abs(found[c] / expected[c] - 1) < 0.03);
  }
  CHECK(std::abs(light->black - 0.06) < 0.02);
  View dark = view;
  dark.camera = MatScene::camera(40, 35);
  dark.camera.T_camera_hold.translation() += Eigen::Vector3d(0, 4000, 0);  // Looks elsewhere.
  CHECK_FALSE(fitPaperLight(dark, mat));
}
