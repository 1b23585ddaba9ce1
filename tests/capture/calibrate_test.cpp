// SPDX-License-Identifier: Apache-2.0
#include "capture/calibrate.h"

#include <doctest/doctest.h>

#include <fstream>

#include "capture/mat_file.h"
#include "mesh/bad_input.h"
#include "tests/capture/exif_file.h"
#include "tests/capture/mat_scene.h"
#include "tests/complaint.h"

using namespace holdshelf;
using std::filesystem::path;

namespace {

std::string messageOf(const std::vector<path>& photos, const Mat& mat) {
  return test::complaintOf([&] { calibrateCapture(photos, mat, {}, {}); });
}

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

/// A capture drawn once and shared by the tests of this file.
struct Shoot {
  scene::TemporaryFolder folder{"holdshelf_calibrate_"};
  Mat mat = scene::borderMat();
  scene::Sheet sheet{1.2, 0.2};
  CameraModel camera = scene::phone();
  std::vector<Eigen::Isometry3d> poses = scene::ring(12, 52, 12);
  cv::Mat rays = scene::rayGrid(camera);
  std::vector<path> photos;

  Shoot() {
    for (size_t i = 0; i < poses.size(); ++i)
      photos.push_back(save(std::to_string(100 + i) + ".png",
                            scene::photograph(mat, sheet, poses[i], rays, 0.7, unsigned(i))));
  }
  path save(const std::string& name, const cv::Mat& photo) const {
    cv::imwrite((folder / name).string(), photo, {cv::IMWRITE_PNG_COMPRESSION, 1});
    return folder / name;
  }
};

const Shoot& shoot() {
  static const Shoot once;
  return once;
}

}  // namespace

TEST_CASE("calibrateCapture: drawn photos give back camera, scale, bend and poses") {
  const Shoot& s = shoot();
  const auto capture = calibrateCapture(s.photos, s.mat, {}, {});
  REQUIRE(capture.views.size() == s.photos.size());
  CHECK(capture.rms_px < 0.15);
  CHECK(std::abs(capture.lens.fx_px / s.camera.fx_px - 1) < 0.002);

  // True corners against calibrated ones: rigid motion removed, then the scale alone.
  const auto layout = matCorners_M_mm(s.mat, 1);
  Eigen::Matrix3Xd from(3, layout.size()), to(3, layout.size());
  for (size_t c = 0; c < layout.size(); ++c) {
    from.col(Eigen::Index(c)) = capture.mat_points_H_mm[c];
    to.col(Eigen::Index(c)) = s.sheet.point(layout[c].x(), layout[c].y());
  }
  const Eigen::Matrix4d similarity = Eigen::umeyama(from, to, true);
  CHECK(std::abs(similarity.topLeftCorner<3, 3>().col(0).norm() - 1) < 3e-4);
  const Eigen::Isometry3d T_true_H(Eigen::umeyama(from, to, false));
  CHECK((T_true_H * Eigen::Matrix3Xd(from) - to).colwise().norm().maxCoeff() < 0.2);

  for (size_t i = 0; i < s.poses.size(); ++i) {
    CAPTURE(i);
    const Eigen::Isometry3d off =
        capture.views[i].camera.T_camera_hold * T_true_H.inverse() * s.poses[i].inverse();
    // What counts is where a point above the mat is seen.
    const Eigen::Vector3d above(10, -5, 40);
    const auto truth = s.camera.project(s.poses[i] * above);
    const auto seen =
        capture.lens.project(capture.views[i].camera.T_camera_hold * (T_true_H.inverse() * above));
    REQUIRE(truth);
    REQUIRE(seen);
    CHECK((*truth - *seen).norm() < 0.3);
    CHECK(Eigen::AngleAxisd(off.linear()).angle() < 0.003);
  }
}

TEST_CASE("calibrateCapture: the wall plane is z = 0 and the views are pinholes") {
  const Shoot& s = shoot();
  const auto capture = calibrateCapture(s.photos, s.mat, {1.02}, {});
  double mean = 0;
  for (const auto& X : capture.mat_points_H_mm)
    mean += X.z() / double(capture.mat_points_H_mm.size());
  CHECK(std::abs(mean) < 0.5);
  CHECK(capture.mat_bend_mm > 0.5);
  CHECK(capture.mat_bend_mm < 2);
  CHECK(capture.mat_scale == 1.02);
  for (const auto& view : capture.views) {
    CHECK_FALSE(view.camera.model.distorted());
    CHECK(view.bgr.size() == cv::Size(s.camera.width_px, s.camera.height_px));
    CHECK(view.camera.centre_H_mm().z() > 150);
    CHECK(std::abs(view.camera.T_camera_hold.linear().determinant() - 1) < 1e-9);
  }
  // 1.02 times the layout is 1.02 times the distance.
  const auto nominal = calibrateCapture(s.photos, s.mat, {}, {});
  CHECK(capture.views[0].camera.centre_H_mm().norm() /
            nominal.views[0].camera.centre_H_mm().norm() ==
        doctest::Approx(1.02).epsilon(1e-3));
}

TEST_CASE("calibrateCapture: bad photos are refused with a reason and the rest go on") {
  const Shoot& s = shoot();
  auto photos = s.photos;
  const auto blurred = scene::photograph(s.mat, s.sheet, s.poses[3], s.rays, 3.2, 77);
  photos.push_back(s.save("blurred.png", blurred));
  photos.push_back(s.save("twice.png", cv::imread(s.photos[2].string())));
  photos.push_back(s.save("empty.png", cv::Mat(720, 960, CV_8UC3, cv::Scalar(90, 90, 90))));
  cv::Mat small;
  cv::resize(cv::imread(s.photos[4].string()), small, {}, 0.8, 0.8, cv::INTER_AREA);
  photos.push_back(s.save("small.png", small));
  // Zoomed in by 1.25 about the middle: same size, another camera.
  cv::Mat zoomed;
  cv::warpAffine(cv::imread(s.photos[5].string()), zoomed, cv::Matx23d(1.25, 0, -120, 0, 1.25, -90),
                 {960, 720});
  photos.push_back(s.save("zoomed.png", zoomed));
  photos.push_back(s.folder / "missing.png");
  const auto capture = calibrateCapture(photos, s.mat, {}, {});
  REQUIRE(capture.reports.size() == photos.size());
  CHECK(capture.views.size() == s.photos.size());
  const size_t n = s.photos.size();
  CHECK(capture.reports[n].verdict() == PhotoReport::BLURRED);
  CHECK(capture.reports[n + 1].verdict() == PhotoReport::DUPLICATE);
  CHECK(has(capture.reports[n + 1].reason(), "same picture as 102.png"));
  CHECK(capture.reports[n + 2].verdict() == PhotoReport::MAT_NOT_FOUND);
  CHECK(capture.reports[n + 3].verdict() == PhotoReport::DISAGREES);
  CHECK(has(capture.reports[n + 3].reason(), "768 x 576"));
  CHECK(capture.reports[n + 4].verdict() == PhotoReport::DISAGREES);
  CHECK(capture.reports[n + 5].verdict() == PhotoReport::UNREADABLE);
  CHECK(has(capture.reports[n + 5].reason(), "no such file"));
  for (size_t i = 0; i < n; ++i) {
    CAPTURE(capture.reports[i].reason());
    CHECK(capture.reports[i].verdict() == PhotoReport::USED);
    CHECK(capture.reports[i].reason().empty());
  }
}

TEST_CASE("calibrateCapture: photos that the phone turned share one camera") {
  // A phone held over a table takes its own orientation for upright, landscape, upside down or
  // portrait by turns. The camera's principal point is off the middle, so that it would turn too.
  const Shoot& s = shoot();
  std::vector<path> photos;
  for (size_t i = 0; i < s.photos.size(); ++i) {
    const int orientation = i % 4 == 1 ? 3 : i % 4 == 2 ? 6 : 1;
    std::vector<unsigned char> jpeg;
    cv::imencode(".jpg", cv::imread(s.photos[i].string()), jpeg, {cv::IMWRITE_JPEG_QUALITY, 97});
    jpeg = scene::jpegWith(jpeg, scene::exifBlock(orientation, 24));
    photos.push_back(s.folder / ("turned" + std::to_string(i) + ".jpg"));
    std::ofstream(photos.back(), std::ios::binary)
        .write(reinterpret_cast<const char*>(jpeg.data()), std::streamsize(jpeg.size()));
  }
  const auto capture = calibrateCapture(photos, s.mat, {}, {});
  CHECK(capture.views.size() == photos.size());
  CHECK(capture.rms_px < 0.18);
  CHECK(std::abs(capture.lens.cx_px - s.camera.cx_px) < 3);
  CHECK(std::abs(capture.lens.cy_px - s.camera.cy_px) < 3);
}

TEST_CASE("calibrateCapture: what is no capture gets one sentence") {
  const Shoot& s = shoot();
  const std::vector<path> three(s.photos.begin(), s.photos.begin() + 3);
  CHECK(has(messageOf(three, s.mat), "3 of the 3 photos"));
  CHECK(has(messageOf(three, s.mat), "at least 8"));
  CHECK(has(messageOf({}, s.mat), "0 of the 0 photos"));
  Mat other = s.mat;
  other.set_dictionary("DICT_4X4_50");
  for (int m = 0; m < other.markers_size(); ++m) other.mutable_markers(m)->set_id(m);
  CHECK(has(messageOf(s.photos, other), "markers"));
  Mat twice = s.mat;
  twice.mutable_markers(1)->set_id(twice.markers(0).id());
  CHECK(has(messageOf(s.photos, twice), "listed twice"));
}

TEST_CASE("calibrateCapture: progress can stop it") {
  const Shoot& s = shoot();
  int calls = 0;
  CHECK_THROWS_AS(calibrateCapture(s.photos, s.mat, {},
                                   [&](const std::string&, double) { return ++calls < 4; }),
                  Interrupted);
}

TEST_CASE("calibrateCapture: thirty-six real photos of a stone on a printed mat") {
  const path folder = path(HOLDSHELF_SOURCE_DIR) / "../shared/realdata/stone36";
  if (!std::filesystem::exists(folder / "mat.json")) {
    MESSAGE("skipped: ../shared/realdata/stone36 is not there");
    return;
  }
  std::vector<path> photos;
  for (int i = 1; i <= 36; ++i)
    photos.push_back(folder / (std::to_string(100 + i).substr(1) + ".png"));
  const auto capture = calibrateCapture(photos, readMat(folder / "mat.json"), {}, {});
  CHECK(capture.views.size() >= 34);
  CHECK(capture.rms_px <= 0.30);
  // Independent calibration with released points: fx 1116 fy 1112, bend -0.8 to 1.4 mm, rms 0.27
  // px.
  CHECK(std::abs(capture.lens.fx_px - 1114) < 4);
  CHECK(std::abs(capture.lens.fy_px - 1112) < 4);
  CHECK(capture.mat_bend_mm > 0.6);
  CHECK(capture.mat_bend_mm < 2.2);
  // The sheet, measured independently: 214.5 x 302.9 nominal mm, A4, factor 0.980.
  CHECK(capture.paper.found());
  CHECK(std::abs(capture.paper.width_nominal_mm() - 214.5) < 0.6);
  CHECK(std::abs(capture.paper.height_nominal_mm() - 302.9) < 0.6);
  CHECK(capture.paper.paper() == "A4");
  CHECK(std::abs(capture.paper.suggested_mat_scale() - 0.980) < 0.002);
  CHECK(has(capture.paper.message(), "--mat-scale 0.98"));
}
