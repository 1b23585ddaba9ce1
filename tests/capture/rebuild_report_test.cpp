// SPDX-License-Identifier: Apache-2.0
#include "capture/rebuild_report.h"

#include <doctest/doctest.h>

#include <string>
#include <utility>
#include <vector>

#include "tests/capture/mat_scene.h"

using namespace holdshelf;

namespace {

CalibratedCapture captureFrom(const std::vector<std::pair<double, double>>& azimuth_elevation_deg) {
  CalibratedCapture capture;
  for (const auto& [azimuth, elevation] : azimuth_elevation_deg) {
    View view;
    view.photo = std::to_string(capture.views.size()) + ".jpg";
    view.camera.T_camera_hold = scene::lookAt(azimuth, elevation, 300, 0, {0, 0, 0});
    PhotoReport report;
    report.set_photo(view.photo);
    capture.reports.push_back(report);
    capture.views.push_back(view);
  }
  return capture;
}

/// A pyramid on the wall, its middle at the origin of x and y; the back at z = 0.
TriangleMesh pyramid() {
  TriangleMesh mesh;
  mesh.vertices_mm = {{10, 10, 0}, {-10, 10, 0}, {-10, -10, 0}, {10, -10, 0}, {0, 0, 1e-6}};
  mesh.triangles = {{0, 1, 4}, {1, 2, 4}, {2, 3, 4}, {3, 0, 4}, {0, 2, 1}, {0, 3, 2}};
  mesh.sigma_mm = {0.1f, 0.2f, 0.3f, 0.4f, 0.5f};
  mesh.guesswork.assign(5, 0);
  return mesh;
}

bool advised(const CaptureReport& report, const std::string& part) {
  for (const std::string& advice : report.advice())
    if (advice.find(part) != std::string::npos) return true;
  return false;
}

}  // namespace

TEST_CASE("reportOf: where the photos were taken from, and the largest gap between them") {
  const auto capture = captureFrom({{10, 20}, {350, 60}, {130, 40}, {250, 20}});
  const CaptureReport report = reportOf(capture, pyramid(), true);
  CHECK(report.largest_azimuth_gap_deg() == doctest::Approx(120));
  CHECK(report.lowest_elevation_deg() == doctest::Approx(20));
  CHECK(report.highest_elevation_deg() == doctest::Approx(60));
  REQUIRE(report.photos_size() == 4);
  CHECK(report.photos(2).azimuth_deg() == doctest::Approx(130));
  CHECK(report.cameras_size() == 4);
  CHECK(report.watertight());
  CHECK(report.triangles() == 6);
}

TEST_CASE(
    "reportOf: advice for gaps, for rings that are missing and for guesswork; none without a "
    "wall") {
  const auto capture = captureFrom({{0, 40}, {30, 40}, {60, 40}});
  TriangleMesh mesh = pyramid();
  mesh.guesswork[4] = 1;
  const CaptureReport report = reportOf(capture, mesh, true);
  CHECK(advised(report, "No photo from 300 degrees"));
  CHECK(advised(report, "below 40 degrees"));
  CHECK(advised(report, "above 40 degrees"));
  // The back on the wall does not count; of each face one corner of three is a guess.
  CHECK(report.guesswork_share() == doctest::Approx(1 / 3.0));
  CHECK(advised(report, "33 % of the surface"));
  const CaptureReport known = reportOf(capture, pyramid(), false);
  CHECK(known.advice_size() == 0);
}

TEST_CASE("reportOf: precision is the median of what was measured") {
  // One corner of each of the four faces: 0.1, 0.2, 0.3, 0.4; the upper median.
  CHECK(reportOf(captureFrom({{0, 20}}), pyramid(), true).precision_mm() == doctest::Approx(0.3));
}
