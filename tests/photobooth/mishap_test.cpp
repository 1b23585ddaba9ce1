// SPDX-License-Identifier: Apache-2.0
#include "tests/photobooth/mishap.h"

#include <doctest/doctest.h>
#include <google/protobuf/util/json_util.h>

#include <fstream>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <set>
#include <sstream>
#include <stdexcept>

#include "proto/capture_report.pb.h"

using namespace holdshelf;
namespace fs = std::filesystem;

namespace {

/// Four tiny photos of a small hold; the same cameras in every capture.
struct TinyCapture {
  fs::path folder = fs::temp_directory_path() / "holdshelf_mishap_test";

  explicit TinyCapture(const std::string& mishap) {
    fs::remove_all(folder);
    BoothOptions o;
    o.width_px = 160;
    o.height_px = 120;
    o.rig.photos = 4;
    o.rig.rings_deg = {35};
    o.stage.mesh_cell_mm = 2;
    o.lens.samples = 3;
    if (!mishap.empty()) letGoWrong(mishap, o);
    photograph(holdNamed("chip"), o, folder, nullptr);
  }
  ~TinyCapture() { fs::remove_all(folder); }

  cv::Mat photo(int i) const {
    return cv::imread((folder / ("photo_00" + std::to_string(i + 1) + ".jpg")).string());
  }
  CaptureReport cameras() const {
    std::ifstream in(folder / "truth_cameras.json");
    std::stringstream text;
    text << in.rdbuf();
    CaptureReport report;
    REQUIRE(google::protobuf::util::JsonStringToMessage("{\"cameras\":" + text.str() + "}", &report)
                .ok());
    return report;
  }
};

double difference(const cv::Mat& a, const cv::Mat& b) {
  return cv::norm(a, b, cv::NORM_L1) / a.total();
}

}  // namespace

TEST_CASE("mishaps: each changes just the photos it should") {
  std::vector<cv::Mat> good;
  {
    const TinyCapture capture("");
    for (int i = 0; i < 4; ++i) good.push_back(capture.photo(i));
  }
  const struct {
    std::string name;
    std::set<int> changed;
  } cases[] = {{"hold-nudged", {2, 3}},
               {"mat-nudged", {2, 3}},
               {"blurred-third", {2}},
               {"zoomed", {2, 3}},
               {"hand", {1}}};
  for (const auto& c : cases) {
    CAPTURE(c.name);
    const TinyCapture capture(c.name);
    for (int i = 0; i < 4; ++i) {
      CAPTURE(i);
      const double d = difference(capture.photo(i), good[static_cast<std::size_t>(i)]);
      if (c.changed.count(i))
        CHECK(d > 1.5);
      else
        CHECK(d == 0);
    }
  }
}

TEST_CASE("mishaps: another camera and another order stand in the truth") {
  const TinyCapture two("two-cameras");
  const CaptureReport report = two.cameras();
  CHECK(report.cameras(0).intrinsics().width_px() == 160);
  CHECK(report.cameras(3).intrinsics().width_px() == 200);
  CHECK(two.photo(3).cols == 200);
  const TinyCapture mixed("out-of-order");
  std::set<std::string> poses, mixed_poses;
  for (const auto& c : report.cameras()) poses.insert(c.t_camera_hold().SerializeAsString());
  const CaptureReport mixed_report = mixed.cameras();
  for (const auto& c : mixed_report.cameras())
    mixed_poses.insert(c.t_camera_hold().SerializeAsString());
  CHECK(poses == mixed_poses);
  CHECK(report.cameras(0).t_camera_hold().SerializeAsString() !=
        mixed_report.cameras(0).t_camera_hold().SerializeAsString());
}

TEST_CASE("letGoWrong: every name is known, others are refused with the list") {
  for (const Mishap& m : mishaps()) {
    BoothOptions o;
    CHECK_NOTHROW(letGoWrong(m.name, o));
    CHECK_FALSE(m.what.empty());
  }
  BoothOptions o;
  CHECK_THROWS_WITH_AS(letGoWrong("gremlins", o), doctest::Contains("hold-nudged"),
                       std::invalid_argument);
}
