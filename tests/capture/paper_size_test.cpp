// SPDX-License-Identifier: Apache-2.0
#include "capture/paper_size.h"

#include <doctest/doctest.h>

#include <string>

#include "tests/capture/mat_scene.h"

using namespace holdshelf;

namespace {

std::string named(double width_mm, double height_mm) {
  const PaperSize* paper = nearestPaper(width_mm, height_mm);
  return paper ? paper->name : "none";
}

/// Views from the truth: the sheet lies flat, as large as given, its print scaled by `print_scale`.
struct FlatShoot {
  Mat mat = scene::borderMat();
  std::vector<View> views;
  std::vector<Eigen::Vector3d> points;

  FlatShoot(double width_mm, double height_mm, double print_scale) {
    scene::Sheet sheet;
    sheet.width_mm = width_mm / print_scale;
    sheet.height_mm = height_mm / print_scale;
    CameraModel camera = scene::phone(800, 600);
    camera.k1 = camera.k2 = camera.p1 = camera.p2 = 0;
    const cv::Mat rays = scene::rayGrid(camera);
    for (const auto& pose : scene::ring(4, 60, 5)) {
      View view;
      view.camera = {camera, pose};
      // Drawn at the nominal scale of the print: the camera is free to be any distance away.
      view.camera.T_camera_hold.translation() *= 1.35;
      view.bgr = scene::photograph(mat, sheet, view.camera.T_camera_hold, rays, 0.7, 5);
      views.push_back(view);
    }
    for (const auto& marker : mat.markers())
      for (const auto& corner : marker.corners()) points.emplace_back(corner.x(), corner.y(), 0);
  }
};

}  // namespace

TEST_CASE("nearestPaper: ISO 216 and American sizes, either way up, a little off scale") {
  CHECK(named(210, 297) == "A4");
  CHECK(named(297, 210) == "A4");
  CHECK(named(214.5, 302.9) == "A4");
  CHECK(named(420, 297) == "A3");
  CHECK(named(420, 594) == "A2");
  CHECK(named(215.9, 279.4) == "Letter");
  CHECK(named(215.9, 355.6) == "Legal");
  CHECK(named(279.4, 431.8) == "Tabloid");
  CHECK(named(0.95 * 210, 0.95 * 297) == "A4");
  CHECK(named(180, 255) == "none");  // 14 % off A4.
  CHECK(named(210, 210) == "none");  // A square.
  CHECK(named(210, 285) == "none");  // Between A4 and Letter.
  CHECK(named(0, 0) == "none");
}

TEST_CASE("checkPaper: the sheet's edges give its size, and the printer away") {
  // An A4 sheet whose print came out 3 % small is 1/0.97 of A4 in the mat's own lengths.
  const FlatShoot shoot(210, 297, 0.97);
  const PaperCheck check = checkPaper(shoot.views, shoot.mat, shoot.points, 1);
  REQUIRE(check.found());
  CHECK(std::abs(check.width_nominal_mm() - 210 / 0.97) < 0.1);
  CHECK(std::abs(check.height_nominal_mm() - 297 / 0.97) < 0.1);
  CHECK(check.paper() == "A4");
  CHECK(check.suggested_mat_scale() == doctest::Approx(0.97).epsilon(5e-4));
  CHECK(check.message().find("--mat-scale 0.97") != std::string::npos);
  // With a mat that says what it is printed on, that counts.
  Mat letter = shoot.mat;
  letter.set_paper_width_mm(215.9);
  letter.set_paper_height_mm(279.4);
  CHECK(checkPaper(shoot.views, letter, shoot.points, 1).paper() == "Letter");
}

TEST_CASE("checkPaper: nothing is claimed without four edges in three views") {
  const FlatShoot shoot(210, 297, 1);
  const std::vector<View> two(shoot.views.begin(), shoot.views.begin() + 2);
  CHECK_FALSE(checkPaper(two, shoot.mat, shoot.points, 1).found());
  CHECK_FALSE(checkPaper({}, shoot.mat, shoot.points, 1).found());
  auto dark = shoot.views;
  for (auto& view : dark) view.bgr = cv::Mat(view.bgr * 0.02);
  CHECK_FALSE(checkPaper(dark, shoot.mat, shoot.points, 1).found());
  const PaperCheck good = checkPaper(shoot.views, shoot.mat, shoot.points, 1);
  CHECK(good.found());
  CHECK(good.message().empty());
}

TEST_CASE("trustsSheetScale: both directions alike and beyond what sheets are cut to") {
  const auto trusted = [](double width_mm, double height_mm, const char* paper = "A4") {
    PaperCheck check;
    check.set_found(true);
    check.set_paper(paper);
    check.set_message("off");
    check.set_width_nominal_mm(width_mm);
    check.set_height_nominal_mm(height_mm);
    check.set_suggested_mat_scale(std::sqrt(210 * 297 / (width_mm * height_mm)));
    return trustsSheetScale(check);
  };
  CHECK(trusted(210 / 0.97, 297 / 0.97));
  CHECK(trusted(297 / 0.97, 210 / 0.97));          // Landscape.
  CHECK_FALSE(trusted(210 / 0.995, 297 / 0.995));  // A sheet may be cut so (ISO 216).
  CHECK_FALSE(trusted(210 / 0.97, 297 / 0.975));   // One edge is a seam of the table.
  CHECK_FALSE(trusted(210 / 0.97, 297 / 0.97, "the mat's sheet"));
  CHECK_FALSE(trustsSheetScale(PaperCheck()));
}
