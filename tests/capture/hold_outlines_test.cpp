// SPDX-License-Identifier: Apache-2.0
#include "capture/hold_outlines.h"

#include <doctest/doctest.h>

#include <string>
#include <utility>
#include <vector>

#include "mesh/bad_input.h"
#include "tests/capture/pushed_drums.h"

using namespace holdshelf;
using test::MatScene;

namespace {

/// A capture as calibration leaves it.
CalibratedCapture captureOf(const MatScene& world, std::vector<View> views) {
  CalibratedCapture capture;
  capture.views = std::move(views);
  capture.mat_points_H_mm = world.points_H_mm;
  capture.mat_in_view.share = 1;
  for (const View& view : capture.views) {
    PhotoReport report;
    report.set_photo(view.photo);
    report.set_verdict(PhotoReport::USED);
    capture.reports.push_back(report);
  }
  return capture;
}

}  // namespace

TEST_CASE(
    "findOutlines: masks for all; a photo of something else leaves, and its report says why") {
  const MatScene world;
  std::vector<View> few = test::pictures(world, 16, 0);
  few.erase(few.begin() + 7, few.end());  // Too few to tell a push from it.
  CalibratedCapture capture = captureOf(world, few);
  const std::string empty = capture.views[4].photo;
  View nothing = world.photograph({}, capture.views[4].camera, {500, 500}, 5, nullptr);
  capture.views[4].bgr = nothing.bgr;
  findOutlines(capture, {world.mat, std::nullopt}, {});
  REQUIRE(capture.views.size() == 6);
  for (const View& view : capture.views) {
    CHECK(cv::countNonZero(view.mask) > 1000);
    CHECK(view.photo != empty);
  }
  CHECK(capture.reports[4].verdict() == PhotoReport::DISAGREES);
  CHECK(capture.reports[4].reason().find("take this photo again") != std::string::npos);
  CHECK(capture.reports[3].verdict() == PhotoReport::USED);
}

TEST_CASE("findOutlines: of a hold that was pushed the larger side stays, the rest is refused") {
  const MatScene world;
  CalibratedCapture capture = captureOf(world, test::pictures(world, 10, 12));
  findOutlines(capture, {world.mat, std::nullopt}, {});
  CHECK(capture.views.size() == 10);
  for (std::size_t i = 0; i < 16; ++i) {
    CAPTURE(i);
    CHECK((capture.reports[i].verdict() == PhotoReport::USED) == (i < 10));
  }
  CHECK(capture.reports[12].reason().find("after it was moved") != std::string::npos);
  REQUIRE_FALSE(capture.warnings.empty());
  CHECK(capture.warnings[0].find("only the 10 photos before are used") != std::string::npos);
  // Eight are needed of the larger side.
  std::vector<View> few = test::pictures(world, 10, 12);
  few.erase(few.begin(), few.begin() + 3);
  few.resize(12);
  CalibratedCapture short_capture = captureOf(world, few);
  CHECK_THROWS_AS(findOutlines(short_capture, {world.mat, std::nullopt}, {}), BadInput);
}
