// SPDX-License-Identifier: Apache-2.0
#include "capture/first_bounds.h"

#include <doctest/doctest.h>

#include "capture/bare_ground.h"
#include "mesh/bad_input.h"
#include "tests/capture/drum_scene.h"

using namespace holdshelf;
using test::DrumPhotos;

TEST_CASE("boundHold: the hold is within, and what is very likely the hold is the hold") {
  const DrumPhotos photos({200, 60, 40});
  const PhotoLight light(photos.views, photos.world.mat, photos.world.points_H_mm);
  std::vector<PhotoLayer> layers;
  for (std::size_t i = 0; i < photos.views.size(); ++i) layers.push_back(light.layer(i, 0.5));
  const BareGround ground(light, layers);
  for (std::size_t i = 0; i < layers.size(); ++i) ground.mark(i, layers[i]);
  const Eigen::AlignedBox3d stage = stageOf(photos.views, light, std::nullopt, 0);
  // The drums as tests/capture/drum_scene.h has them.
  CHECK(stage.contains(Eigen::Vector3d(34, -3, 0.1)));
  CHECK(stage.contains(Eigen::Vector3d(4, -3, 40)));
  boundHold(stage, true, layers);
  for (std::size_t i = 0; i < layers.size(); ++i) {
    CAPTURE(i);
    cv::Mat hold;
    cv::resize(photos.truth[i], hold, layers[i].ink.size(), 0, 0, cv::INTER_AREA);
    hold = hold > 128;
    CHECK(cv::countNonZero(hold & ~layers[i].limit) < 0.002 * cv::countNonZero(hold));
    // Three cells; besides, no photo looks under the cone that all leave over a flat top.
    CHECK(cv::countNonZero(layers[i].core & ~grown(hold, 6)) <
          0.05 * cv::countNonZero(layers[i].core));
    CHECK(test::overlap(layers[i].core, hold) > 0.7);
  }
  for (PhotoLayer& layer : layers) layer.bare.setTo(255), layer.patterned.setTo(255);
  CHECK_THROWS_AS(boundHold(stage, true, layers), BadInput);
}

TEST_CASE("stageOf: the box where it is known; without a mat where the cameras look") {
  const DrumPhotos photos({200, 60, 40});
  const PhotoLight plain(photos.views, std::nullopt, {});
  const Eigen::AlignedBox3d box(Eigen::Vector3d(1, 2, 3), Eigen::Vector3d(4, 5, 6));
  CHECK(stageOf(photos.views, plain, box, 0).isApprox(box));
  const Eigen::AlignedBox3d stage = stageOf(photos.views, plain, std::nullopt, -10);
  // All axes meet 15 mm above the middle, 300 mm away; half the frame is as wide as half of that.
  CHECK(stage.min().z() == -10);
  CHECK((stage.max() - Eigen::Vector3d(150, 150, 165)).norm() < 1e-6);
  CHECK((stage.min().head<2>() - Eigen::Vector2d(-150, -150)).norm() < 1e-6);
}
