// SPDX-License-Identifier: Apache-2.0
#include "capture/recess_look.h"

#include <doctest/doctest.h>

#include <opencv2/imgproc.hpp>

#include "tests/capture/recess_scene.h"

using namespace holdshelf;

TEST_CASE("looksInto: views from the side do not see in, others do in the hold's own hue") {
  std::vector<View> views = {photoFrom(0, 60, 20), photoFrom(90, 5, 20), photoFrom(180, 80, 20)};
  for (View& view : views) {
    // A blue hold: the picture's shades in one channel alone.
    std::vector<cv::Mat> channels(3);
    cv::split(view.bgr, channels);
    channels[1] = 0, channels[2] = 0;
    cv::merge(channels, view.bgr);
  }
  const Recess recess = recessIn(kTop_mm);
  const auto looks = looksInto(recess, views, 2.5);
  REQUIRE(looks.size() == 2);
  CHECK(looks[0].view == &views[0]);
  CHECK(looks[1].view == &views[2]);
  for (const RecessLook& look : looks) {
    const Eigen::Vector3d place(-3, 1, 20);  // Past the rim in both.
    const auto value = look.at(place);
    REQUIRE(value);
    const auto q = look.view->camera.project(place);
    const cv::Vec3b shown =
        look.view->bgr.at<cv::Vec3b>(int(std::lround(q->y())), int(std::lround(q->x())));
    CHECK(std::abs(*value - float(shown[0])) < 6);  // Blurred, and between pixels.
    CHECK_FALSE(look.at({500, 0, 0}));
  }
}
