// SPDX-License-Identifier: Apache-2.0
#include "capture/photo_focal.h"

#include <doctest/doctest.h>

#include "tests/capture/mat_scene.h"

using namespace holdshelf;

namespace {

struct Corners {
  std::vector<Eigen::Vector2d> layout;
  std::vector<CornerSighting> sightings;
};

/// Corners of the border mat as 12 photos show them; photos from `zoomed_from` on are taken with
/// `zoom` times the focal length. Noise of 0.1 px.
Corners corners(int zoomed_from, double zoom) {
  Corners out;
  const Mat mat = scene::borderMat();
  for (const Marker& marker : mat.markers())
    for (const MatPoint& c : marker.corners()) out.layout.emplace_back(c.x(), c.y());
  std::mt19937 random(7);
  std::normal_distribution<double> noise(0, 0.1);
  const auto poses = scene::ring(12, 45, 18);
  for (int p = 0; p < 12; ++p) {
    CameraModel camera = scene::phone();
    if (p >= zoomed_from) camera.fx_px *= zoom, camera.fy_px *= zoom;
    for (size_t c = 0; c < out.layout.size(); ++c) {
      const auto px = camera.project(poses[size_t(p)] *
                                     Eigen::Vector3d(out.layout[c].x(), out.layout[c].y(), 0));
      if (px)
        out.sightings.push_back(
            {p, int(c), *px + Eigen::Vector2d(noise(random), noise(random)), 0.1, true});
    }
  }
  return out;
}

std::vector<bool> verdict(int zoomed_from, double zoom, std::vector<PhotoFocal>& focals) {
  Corners c = corners(zoomed_from, zoom);
  const MatBundle bundle = adjustMatBundle(c.layout, 960, 720, 12, c.sightings, {});
  focals = focalOfEachPhoto(bundle, c.sightings);
  return zoomedPhotos(focals);
}

}  // namespace

TEST_CASE("focalOfEachPhoto: one lens is one lens") {
  std::vector<PhotoFocal> focals;
  const auto zoomed = verdict(12, 1, focals);
  REQUIRE(focals.size() == 12);
  for (size_t p = 0; p < 12; ++p) {
    CAPTURE(p);
    CHECK(focals[p].sigma > 0);
    CHECK(std::abs(focals[p].ratio - 1) < 0.03);  // The principal point is 3 and 4 px off.
    CHECK_FALSE(zoomed[p]);
  }
}

TEST_CASE("focalOfEachPhoto: a third of the photos zoomed in or out is told apart") {
  for (double zoom : {1.35, 0.8}) {
    CAPTURE(zoom);
    std::vector<PhotoFocal> focals;
    const auto zoomed = verdict(8, zoom, focals);
    for (size_t p = 0; p < 12; ++p) {
      CAPTURE(p);
      CHECK(zoomed[p] == (p >= 8));
    }
    CHECK(focals[10].ratio / focals[2].ratio == doctest::Approx(zoom).epsilon(0.03));
  }
}

TEST_CASE("focalOfEachPhoto: a photo with hardly a corner says nothing") {
  Corners c = corners(12, 1);
  std::vector<CornerSighting> few;
  int of_last = 0;
  for (const CornerSighting& s : c.sightings)
    if (s.photo < 11 || of_last++ < 8) few.push_back(s);
  const MatBundle bundle = adjustMatBundle(c.layout, 960, 720, 12, few, {});
  const auto focals = focalOfEachPhoto(bundle, few);
  CHECK(focals[11].sigma == 0);
  CHECK_FALSE(zoomedPhotos(focals)[11]);
}
