// SPDX-License-Identifier: Apache-2.0
#include "capture/print_scale.h"

#include <doctest/doctest.h>

#include "capture/paper_size.h"

using namespace holdshelf;

namespace {

/// A sheet that was printed at 0.97 of its size and calibrated as if it had not been.
CalibratedCapture misprinted() {
  CalibratedCapture capture;
  capture.paper.set_found(true);
  capture.paper.set_paper("A4");
  capture.paper.set_width_nominal_mm(210 / 0.97);
  capture.paper.set_height_nominal_mm(297 / 0.97);
  capture.paper.set_suggested_mat_scale(0.97);
  capture.paper.set_message("The sheet measures otherwise.");
  capture.warnings = {"Something else.", capture.paper.message()};
  View view;
  view.camera.T_camera_hold.translation() = Eigen::Vector3d(10, -20, 300);
  capture.views.push_back(view);
  capture.mat_points_H_mm = {{100, 0, 1}};
  capture.T_hold_mat.translation() = Eigen::Vector3d(5, 6, 7);
  capture.mat_bend_mm = 1;
  capture.plane_sigma_mm = 0.1;
  return capture;
}

}  // namespace

TEST_CASE("correctPrint: every length by the one factor, and a warning that says so") {
  CalibratedCapture capture = misprinted();
  correctPrint(capture);
  const Eigen::Vector3d shift = capture.views[0].camera.T_camera_hold.translation();
  CHECK((shift - 0.97 * Eigen::Vector3d(10, -20, 300)).norm() < 1e-9);
  CHECK((capture.mat_points_H_mm[0] - Eigen::Vector3d(97, 0, 0.97)).norm() < 1e-9);
  CHECK((capture.T_hold_mat.translation() - 0.97 * Eigen::Vector3d(5, 6, 7)).norm() < 1e-9);
  CHECK(capture.mat_bend_mm == doctest::Approx(0.97));
  CHECK(capture.plane_sigma_mm == doctest::Approx(0.097));
  CHECK(capture.mat_scale == doctest::Approx(0.97));
  REQUIRE(capture.warnings.size() == 2);
  CHECK(capture.warnings[0] == "Something else.");
  CHECK(capture.warnings[1].find("97.00 % of its size") != std::string::npos);
  CHECK(capture.paper.message() == capture.warnings[1]);
}

TEST_CASE("correctPrint: a sheet that is off otherwise in either direction changes nothing") {
  CalibratedCapture capture = misprinted();
  capture.paper.set_width_nominal_mm(210 / 0.98);  // No one factor: the paper was trimmed.
  correctPrint(capture);
  CHECK(capture.mat_scale == 1);
  CHECK(capture.warnings[1] == "The sheet measures otherwise.");
}
