// SPDX-License-Identifier: Apache-2.0
#include "capture/photo_look.h"

#include <doctest/doctest.h>
#include <google/protobuf/util/json_util.h>

#include <cmath>
#include <fstream>
#include <iterator>
#include <map>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "capture/camera.h"
#include "capture/mat_file.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
namespace fs = std::filesystem;

namespace {

const fs::path kCapture = fs::path(HOLDSHELF_SOURCE_DIR) / "testdata/demo/ledge";

/// The renderer's cameras, by photo.
std::map<std::string, PosedCamera> trueCameras() {
  std::ifstream file(kCapture / "truth_cameras.json");
  const std::string list(std::istreambuf_iterator<char>(file), {});
  CaptureReport report;
  REQUIRE(google::protobuf::util::JsonStringToMessage("{\"cameras\":" + list + "}", &report).ok());
  std::map<std::string, PosedCamera> cameras;
  for (const PhotoCamera& camera : report.cameras()) cameras[camera.photo()] = fromProto(camera);
  return cameras;
}

}  // namespace

TEST_CASE("photo look: where the demo's photos were taken from, against the renderer's cameras") {
  const Mat mat = readMat(kCapture / "mat.json");
  const auto truth = trueCameras();
  Eigen::Vector3d middle_mm = Eigen::Vector3d::Zero();
  for (const Eigen::Vector2d& corner : matCorners_M_mm(mat, 1))
    middle_mm.head<2>() += corner / (4.0 * mat.markers_size());
  for (const char* name : {"photo_001.jpg", "photo_008.jpg", "photo_014.jpg", "photo_026.jpg"}) {
    CAPTURE(name);
    const LookedAt looked = lookAtPhoto(kCapture / name, mat);
    CHECK(looked.look.usable());
    CHECK(looked.look.sentence() == "");
    CHECK(looked.look.markers_found() > 8);
    CHECK(looked.look.markers_in_all() == mat.markers_size());
    REQUIRE(looked.look.posed());
    const Eigen::Vector3d eye = truth.at(name).centre_H_mm() - middle_mm;
    const double azimuth = std::atan2(eye.y(), eye.x()) * 180 / M_PI;
    const double elevation = std::atan2(eye.z(), eye.head<2>().norm()) * 180 / M_PI;
    CHECK(std::abs(std::remainder(looked.look.azimuth_deg() - azimuth, 360)) < 4);
    CHECK(std::abs(looked.look.elevation_deg() - elevation) < 4);
    const cv::Mat picture = cv::imdecode(looked.picture_jpeg, cv::IMREAD_COLOR);
    CHECK(std::max(picture.cols, picture.rows) == 480);
  }
}

TEST_CASE("photo look: turning the camera about its own axis does not move it") {
  const Mat mat = readMat(kCapture / "mat.json");
  const test::TempFolder folder;
  const cv::Mat photo = cv::imread((kCapture / "photo_001.jpg").string());
  const LookedAt upright = lookAtPhoto(kCapture / "photo_001.jpg", mat);
  cv::Mat turned;
  cv::rotate(photo, turned, cv::ROTATE_180);
  const fs::path file = folder / "turned.png";
  cv::imwrite(file.string(), turned);
  const LookedAt half_turn = lookAtPhoto(file, mat);
  REQUIRE(half_turn.look.posed());
  const double moved = half_turn.look.azimuth_deg() - upright.look.azimuth_deg();
  CHECK(std::abs(std::remainder(moved, 360)) < 1.5);
  CHECK(std::abs(half_turn.look.elevation_deg() - upright.look.elevation_deg()) < 1.5);
}

TEST_CASE("photo look: what is no photo of the mat says why") {
  const Mat mat = readMat(kCapture / "mat.json");
  const test::TempFolder folder;
  const auto look = [&](const std::string& name, const std::string& bytes) {
    std::ofstream(folder / name, std::ios::binary) << bytes;
    return lookAtPhoto(folder / name, mat).look;
  };
  CHECK_FALSE(look("text.jpg", "no photo").usable());
  CHECK(look("empty.jpg", "").sentence().size() > 10);
  // As a phone is shown it: nothing of where the file lies on this machine. The bytes are the brand
  // box that ISO/IEC 23008-12 (HEIF) begins a file with.
  const std::string heic = look("photo.heic", std::string("\0\0\0\x18", 4) + "ftypheic").sentence();
  CHECK(heic.starts_with("HEIC and video files are not read; set the phone to JPEG"));
  for (const std::string& sentence : {heic, look("text.jpg", "no photo").sentence()}) {
    CHECK(sentence.find(folder.path().string()) == std::string::npos);
    CHECK(sentence.find("text.jpg") == std::string::npos);
  }
  cv::Mat grey(600, 800, CV_8UC3, cv::Scalar(120, 120, 120));
  cv::imwrite((folder / "grey.png").string(), grey);
  const PhotoLook bare = lookAtPhoto(folder / "grey.png", mat).look;
  CHECK_FALSE(bare.usable());
  CHECK_FALSE(bare.posed());
  CHECK(bare.sentence().find("0 of the mat's") != std::string::npos);
  CHECK(bare.sentence().find("grey.png") == std::string::npos);
  cv::Mat blurred = cv::imread((kCapture / "photo_001.jpg").string());
  cv::GaussianBlur(blurred, blurred, {}, 8);
  cv::imwrite((folder / "blurred.png").string(), blurred);
  const PhotoLook soft = lookAtPhoto(folder / "blurred.png", mat).look;
  CHECK_FALSE(soft.usable());
}

TEST_CASE("photo look: a strip of a single row or column is looked at like any other") {
  const Mat mat = readMat(kCapture / "mat.json");
  const test::TempFolder folder;
  for (const cv::Size size : {cv::Size(6000, 1), cv::Size(1, 6000)}) {
    CAPTURE(size.width);
    cv::imwrite((folder / "strip.png").string(), cv::Mat(size, CV_8UC3, cv::Scalar::all(90)));
    const LookedAt looked = lookAtPhoto(folder / "strip.png", mat);
    CHECK_FALSE(looked.look.usable());
    CHECK(looked.look.sentence() != "");
    const cv::Mat picture = cv::imdecode(looked.picture_jpeg, cv::IMREAD_COLOR);
    CHECK(std::max(picture.cols, picture.rows) == 480);
    CHECK(std::min(picture.cols, picture.rows) == 1);
  }
}
