// SPDX-License-Identifier: Apache-2.0
#include "capture/outline_cut.h"

#include <doctest/doctest.h>

#include "mesh/bad_input.h"
#include "tests/capture/drum_scene.h"

using namespace holdshelf;
using test::DrumPhotos;

namespace {

/// The photos at half their size, bounded by what the truth is, loosely.
struct Bounded {
  DrumPhotos photos{{200, 60, 40}};
  PhotoLight light{photos.views, photos.world.mat, photos.world.points_H_mm};
  std::vector<PhotoLayer> layers;
  std::vector<cv::Mat> hold;
  BareGround ground{light, layers};

  Bounded() {
    for (std::size_t i = 0; i < photos.views.size(); ++i) {
      PhotoLayer& layer = layers.emplace_back(light.layer(i, 0.5));
      ground.mark(i, layer);
      cv::Mat half;
      cv::resize(photos.truth[i], half, layer.ink.size(), 0, 0, cv::INTER_AREA);
      hold.push_back(half > 128);
      layer.limit = grown(hold[i], 15);
      layer.core = shrunk(hold[i], 4);
    }
  }
};

}  // namespace

TEST_CASE("OutlineCut: the outline is the hold's, then to the photo's pixels") {
  Bounded scene;
  const OutlineCut outline(scene.light, scene.ground, scene.layers);
  for (std::size_t i = 0; i < scene.layers.size(); ++i) {
    CAPTURE(i);
    outline.cut(i, scene.layers[i]);
    CHECK(test::overlap(scene.layers[i].mask, scene.hold[i]) > 0.92);
    CHECK(cv::countNonZero(scene.layers[i].mask & ~scene.layers[i].limit) == 0);
    const cv::Mat fine = outline.refined(i, scene.layers[i], scene.photos.views[i].bgr.size());
    REQUIRE(fine.size() == scene.photos.truth[i].size());
    CHECK(test::overlap(fine, scene.photos.truth[i]) > 0.94);
  }
}

TEST_CASE("OutlineCut: the hold's pixels speak for the hold, the mat's against it") {
  const Bounded scene;
  const OutlineCut outline(scene.light, scene.ground, scene.layers);
  const PhotoLayer& layer = scene.layers[0];
  CHECK(outline.gainOver(0, layer, layer.core) > cv::countNonZero(layer.core));
  const cv::Mat bare = layer.bare & ~grown(scene.hold[0], 3);
  CHECK(outline.gainOver(0, layer, bare) < -cv::countNonZero(bare));
}

TEST_CASE("OutlineCut: bounds that hold nothing but the mat teach no hold") {
  Bounded scene;
  for (PhotoLayer& layer : scene.layers) {
    layer.core.setTo(0);
    layer.mask = cv::Mat();
  }
  CHECK_THROWS_AS(OutlineCut(scene.light, scene.ground, scene.layers), BadInput);
}
