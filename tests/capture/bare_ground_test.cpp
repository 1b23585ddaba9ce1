// SPDX-License-Identifier: Apache-2.0
#include "capture/bare_ground.h"

#include <doctest/doctest.h>

#include "tests/capture/drum_scene.h"

using namespace holdshelf;
using test::DrumPhotos;

namespace {

std::vector<PhotoLayer> layersOf(const PhotoLight& light, const DrumPhotos& photos,
                                 double scale = 1) {
  std::vector<PhotoLayer> layers;
  for (std::size_t i = 0; i < photos.views.size(); ++i) layers.push_back(light.layer(i, scale));
  return layers;
}

}  // namespace

TEST_CASE("BareGround: most of the mat in light is bare, hardly anything of a hold is") {
  const DrumPhotos photos({200, 60, 40});
  const PhotoLight light(photos.views, photos.world.mat, photos.world.points_H_mm);
  std::vector<PhotoLayer> layers = layersOf(light, photos);
  const BareGround ground(light, layers);
  for (std::size_t i = 0; i < layers.size(); ++i) {
    CAPTURE(i);
    ground.mark(i, layers[i]);
    const cv::Mat& hold = photos.truth[i];
    const cv::Mat paper = (layers[i].ink == int(MatInk::White)) & ~hold;
    CHECK(cv::countNonZero(layers[i].bare & hold) < 0.01 * cv::countNonZero(hold));
    CHECK(cv::countNonZero(layers[i].bare & paper) > 0.6 * cv::countNonZero(paper));
    CHECK(cv::countNonZero(layers[i].bare & (layers[i].ink == int(MatInk::None))) == 0);
  }
}

TEST_CASE("BareGround: a hold as black as ink is told from one that is not") {
  for (const bool black : {false, true}) {
    CAPTURE(black);
    const DrumPhotos photos(black ? std::array<std::uint8_t, 3>{40, 40, 40}
                                  : std::array<std::uint8_t, 3>{200, 60, 40});
    const PhotoLight light(photos.views, photos.world.mat, photos.world.points_H_mm);
    // Smaller, as the search looks at it: the noise of dark pixels is averaged.
    std::vector<PhotoLayer> layers = layersOf(light, photos, 0.25);
    for (std::size_t i = 0; i < layers.size(); ++i)
      cv::resize(photos.truth[i], layers[i].core, layers[i].ink.size(), 0, 0, cv::INTER_NEAREST);
    CHECK(holdLooksLikeInk(light, layers) == black);
  }
}

TEST_CASE("BareGround: a plain background is learnt from the frame's border") {
  DrumPhotos photos({210, 205, 190});
  for (std::size_t i = 0; i < photos.views.size(); ++i) {
    cv::Mat dark(photos.views[i].bgr.size(), CV_8UC3);
    cv::randn(dark, cv::Scalar(9, 9, 10), cv::Scalar(3, 3, 3));
    dark.copyTo(photos.views[i].bgr, photos.truth[i] == 0);
  }
  const PhotoLight light(photos.views, std::nullopt, {});
  std::vector<PhotoLayer> layers = layersOf(light, photos);
  const BareGround ground(light, layers);
  ground.mark(0, layers[0]);
  const cv::Mat& hold = photos.truth[0];
  CHECK(cv::countNonZero(layers[0].bare & hold) < 0.01 * cv::countNonZero(hold));
  CHECK(cv::countNonZero(layers[0].bare & ~hold) > 0.9 * cv::countNonZero(~hold));
  CHECK(ground.isPlain(layers[0].feature(5, 5)));
  const cv::Moments m = cv::moments(hold, true);
  CHECK_FALSE(ground.isPlain(layers[0].feature(int(m.m10 / m.m00), int(m.m01 / m.m00))));
}
