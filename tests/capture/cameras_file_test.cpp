// SPDX-License-Identifier: Apache-2.0
#include "capture/cameras_file.h"

#include <doctest/doctest.h>

#include "capture/calibrate.h"
#include "mesh/bad_input.h"
#include "tests/capture/mat_scene.h"
#include "tests/complaint.h"

using namespace holdshelf;

namespace {

const std::string kLine = "a.png 800 0 320 0 810 240 0 0 1  1 0 0 0 -1 0 0 0 -1  0.01 -0.02 0.5";

std::string complaint(const std::string& text) {
  return test::complaintOf([&] { parseCameras(text, "cams.txt", 1); });
}

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

std::string replaced(std::string text, const std::string& what, const std::string& with) {
  return text.replace(text.find(what), what.size(), with);
}

}  // namespace

TEST_CASE("parseCameras: count line, comments, metres and distortion") {
  const auto cameras =
      parseCameras("2\n# two cameras\n" + kLine +
                       "\n\nb.png\t800 0 320 0 810 240 0 0 1 1 0 0 0 1 0 0 0 1 0 0 1 "
                       "0.1 -0.2 0.001 -0.002 0.03 # distorted\r\n",
                   "cams.txt", 1000);
  REQUIRE(cameras.size() == 2);
  const PosedCamera& a = cameras.at("a.png");
  CHECK(a.model.fx_px == 800);
  CHECK(a.model.fy_px == 810);
  CHECK(a.model.cx_px == 320);
  CHECK_FALSE(a.model.distorted());
  CHECK((a.T_camera_hold.translation() - Eigen::Vector3d(10, -20, 500)).norm() < 1e-9);
  const PosedCamera& b = cameras.at("b.png");
  CHECK(b.model.k1 == 0.1);
  CHECK(b.model.k2 == -0.2);
  CHECK(b.model.p1 == 0.001);
  CHECK(b.model.p2 == -0.002);
  CHECK(b.model.k3 == 0.03);
}

TEST_CASE("parseCameras: each malformed line gets a sentence with its number") {
  CHECK(complaint(kLine).empty());
  CHECK(has(complaint(""), "no cameras"));
  CHECK(has(complaint("\n" + kLine + "\nb.png 1 2 3\n"), "line 3: 3 numbers after the name"));
  CHECK(has(complaint(kLine + " 0.1"), "line 1: 22 numbers"));
  CHECK(has(complaint(replaced(kLine, "810", "81o")), "line 1: \"81o\" is not a finite number"));
  CHECK(has(complaint(replaced(kLine, "810", "nan")), "not a finite number"));
  CHECK(has(complaint(replaced(kLine, "800 0", "800 5")), "skew"));
  CHECK(has(complaint(replaced(kLine, "800", "-800")), "no camera matrix"));
  CHECK(has(complaint(replaced(kLine, "0 0 1  1", "0 0 2  1")), "no camera matrix"));
  CHECK(has(complaint(replaced(kLine, "0 -1 0", "0 1 0")), "no rotation"));  // A mirror image.
  CHECK(has(complaint(replaced(kLine, "0 -1 0", "0 -2 0")), "no rotation"));
  CHECK(has(complaint(kLine + "\n" + kLine), "line 2: a.png is listed twice"));
  CHECK(has(complaint("3\n" + kLine), "announces 3 cameras, but 1 follow"));
  CHECK(has(complaint("1e300\n" + kLine), "announces 1e300 cameras, but 1 follow"));
  CHECK_THROWS_WITH_AS(readCameras("/no/such/cams.txt", 1),
                       doctest::Contains("no such cameras file"), BadInput);
  CHECK_THROWS_AS(parseCameras(kLine, "cams.txt", 0), BadInput);
}

TEST_CASE("knownCapture: photos take their cameras by name, others are refused") {
  const scene::TemporaryFolder folder("holdshelf_known_");
  std::string text;
  std::vector<std::filesystem::path> photos;
  for (const char* name : {"a.png", "b.png", "c.png", "d.png"}) {
    cv::Mat photo(48, 64, CV_8UC3);
    cv::randu(photo, 0, 255);
    cv::imwrite((folder / name).string(), photo);
    photos.push_back(folder / name);
    if (name[0] != 'd') text += replaced(kLine, "a.png", name) + "\n";
  }
  const auto cameras = parseCameras(text, "cams.txt", 1000);
  const auto capture = knownCapture(photos, cameras, {});
  CHECK(capture.views.size() == 3);
  CHECK(capture.views[0].camera.model.width_px == 64);
  CHECK(capture.reports[3].verdict() == PhotoReport::DISAGREES);
  CHECK(has(capture.reports[3].reason(), "no camera"));
  CHECK_THROWS_WITH_AS(knownCapture({photos[0], photos[1], photos[0]}, cameras, {}),
                       doctest::Contains("at least three"), BadInput);
}

TEST_CASE("readCameras: the Middlebury ring reads as it is") {
  const auto folder = std::filesystem::path(HOLDSHELF_SOURCE_DIR) / "../shared/realdata/dino16";
  if (!std::filesystem::exists(folder / "dinoSR_par.txt")) {
    MESSAGE("skipped: ../shared/realdata/dino16 is not there");
    return;
  }
  const auto cameras = readCameras(folder / "dinoSR_par.txt", 1000);
  REQUIRE(cameras.size() == 16);
  // The stated box, in mm, lies in front of every camera at about 0.25 mm a pixel.
  const Eigen::Vector3d middle(-25.5, 24.7, -21.2);
  for (const auto& [name, camera] : cameras) {
    CAPTURE(name);
    const Eigen::Vector3d p = camera.T_camera_hold * middle;
    CHECK(p.z() / camera.model.fx_px == doctest::Approx(0.2).epsilon(0.15));
    const auto px = camera.project(middle);
    REQUIRE(px);
    CHECK((*px - Eigen::Vector2d(320, 240)).norm() < 120);
  }
}
