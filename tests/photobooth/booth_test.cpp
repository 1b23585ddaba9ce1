// SPDX-License-Identifier: Apache-2.0
#include "tests/photobooth/booth.h"

#include <doctest/doctest.h>
#include <google/protobuf/util/json_util.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <map>
#include <opencv2/aruco.hpp>
#include <opencv2/imgcodecs.hpp>
#include <sstream>

#include "mesh/bad_input.h"
#include "mesh/mesh_io.h"
#include "proto/capture_report.pb.h"
#include "tests/photobooth/capture_truth.h"

using namespace holdshelf;
namespace fs = std::filesystem;

namespace {

/// A folder that is gone after the test.
struct Scratch {
  fs::path path = fs::temp_directory_path() / "holdshelf_booth_test";
  Scratch() { fs::remove_all(path); }
  ~Scratch() { fs::remove_all(path); }
};

BoothOptions small() {
  BoothOptions o;
  o.width_px = 1200;
  o.height_px = 900;
  o.rig.photos = 3;
  o.stage.mesh_cell_mm = 1.5;
  o.lens.samples = 4;
  return o;
}

std::string text(const fs::path& path) {
  std::ifstream in(path, std::ios::binary);
  std::stringstream s;
  s << in.rdbuf();
  return s.str();
}

std::vector<PosedCamera> cameras(const fs::path& folder) {
  // An array of messages: wrapped to fit a message that repeats them.
  CaptureReport report;
  REQUIRE(google::protobuf::util::JsonStringToMessage(
              "{\"cameras\":" + text(folder / "truth_cameras.json") + "}", &report)
              .ok());
  std::vector<PosedCamera> out;
  for (const PhotoCamera& c : report.cameras()) out.push_back(fromProto(c));
  return out;
}

double median(std::vector<double> values) {
  std::nth_element(values.begin(), values.begin() + values.size() / 2, values.end());
  return values[values.size() / 2];
}

struct Misses {
  std::vector<double> x_px, y_px, length_px;
};

/// Detected corners of a photo against the paper's true corners projected by the true camera.
Misses cornerMisses(const cv::Mat& photo, const PosedCamera& camera, const MatSheet& sheet) {
  std::vector<std::vector<cv::Point2f>> found;
  std::vector<int> ids;
  auto parameters = cv::aruco::DetectorParameters::create();
  parameters->cornerRefinementMethod = cv::aruco::CORNER_REFINE_SUBPIX;
  parameters->cornerRefinementWinSize = 3;
  cv::aruco::detectMarkers(photo, cv::aruco::getPredefinedDictionary(cv::aruco::DICT_4X4_250),
                           found, ids, parameters);
  Misses misses;
  for (std::size_t i = 0; i < ids.size(); ++i)
    for (int c = 0; c < 4; ++c) {
      REQUIRE(ids[i] < sheet.mat().markers_size());
      const auto px = camera.project(sheet.cornerOnPaper_mm(ids[i], c));
      REQUIRE(px);
      misses.x_px.push_back(found[i][c].x - px->x());
      misses.y_px.push_back(found[i][c].y - px->y());
      misses.length_px.push_back(std::hypot(misses.x_px.back(), misses.y_px.back()));
    }
  return misses;
}

}  // namespace

TEST_CASE("photograph: the markers are where the true cameras see the true paper") {
  const Scratch scratch;
  BoothOptions o = small();
  o.mat.bend_mm = 1;
  o.fill = 0.25;
  photograph(holdNamed("chip"), o, scratch.path, nullptr);
  const std::vector<PosedCamera> posed = cameras(scratch.path);
  REQUIRE(posed.size() == 3);
  const MatSheet sheet(o.mat);
  for (int i = 0; i < 3; ++i) {
    CAPTURE(i);
    const cv::Mat photo =
        cv::imread((scratch.path / ("photo_00" + std::to_string(i + 1) + ".jpg")).string());
    REQUIRE(photo.cols == 1200);
    const Misses misses = cornerMisses(photo, posed[i], sheet);
    CHECK(misses.length_px.size() >= 4 * 10);
    // The detector draws flat corners inwards, by more where the sheet is foreshortened (photo 1,
    // 15 degrees); a wrong pixel grid, pose or lens would move all corners one way. Medians, since
    // the hold cuts into some markers.
    CHECK(std::abs(median(misses.x_px)) < 0.25);
    CHECK(std::abs(median(misses.y_px)) < 0.25);
    CHECK(median(misses.length_px) < (i == 0 ? 1.2 : 0.7));
  }
  Mat mat;
  REQUIRE(google::protobuf::util::JsonStringToMessage(text(scratch.path / "mat.json"), &mat).ok());
  CHECK(mat.SerializeAsString() == sheet.mat().SerializeAsString());
  CHECK(shapeInCapture(scratch.path) == "chip");
  CHECK(isWatertight(readMesh(scratch.path / "truth.ply")));
  CHECK(text(scratch.path / "truth.json").find("\"edgeDepthMm\": 8") != std::string::npos);
}

TEST_CASE("photograph: the same options give the same bytes, on the turntable too") {
  const Scratch scratch;
  BoothOptions o = small();
  o.width_px = 240;
  o.height_px = 180;
  o.rig.photos = 2;
  o.stage.turntable = true;
  std::map<int, std::string> bytes;
  for (int run = 0; run < 3; ++run) {
    fs::remove_all(scratch.path);
    o.seed = run < 2 ? 5 : 6;
    photograph(holdNamed("dome"), o, scratch.path, nullptr);
    bytes[run] = text(scratch.path / "photo_002.jpg");
  }
  CHECK(bytes[0] == bytes[1]);
  CHECK(bytes[0] != bytes[2]);
  CHECK_THROWS_AS(photograph(holdNamed("dome"), o, scratch.path, nullptr), std::runtime_error);
}

TEST_CASE("photograph: interrupted, nothing is left") {
  const Scratch scratch;
  BoothOptions o = small();
  o.width_px = 80;
  o.height_px = 60;
  const auto stop = [](const std::string&, double done) { return done < 0.5; };
  CHECK_THROWS_AS(photograph(holdNamed("chip"), o, scratch.path, stop), Interrupted);
  CHECK_FALSE(fs::exists(scratch.path));
  CHECK_FALSE(fs::exists(scratch.path.string() + ".partial"));
}

TEST_CASE("truthFromReport: undoes the report's way from the mat to the hold, but for its height") {
  const Scratch scratch;
  fs::create_directories(scratch.path);
  const fs::path path = scratch.path / "report.json";
  // A quarter turn about z and a shift: x_hold = R x_mat + t.
  std::ofstream(path) << R"({"THoldMat": {"rotation": [0, -1, 0, 1, 0, 0, 0, 0, 1],
                             "translationMm": [1, 2, 3]}})";
  const Eigen::Vector3d table(10, 20, 30), hold(-20 + 1, 10 + 2, 30);
  CHECK((truthFromReport(path) * hold - table).norm() < 1e-12);
  // Nor is a plane that is tilted about x by 0.01 set right by what the mat says of itself.
  std::ofstream(path)
      << R"({"THoldMat": {"rotation": [1, 0, 0, 0, 0.99995, -0.01, 0, 0.01, 0.99995],
                             "translationMm": [0, 0, 0]}})";
  CHECK((truthFromReport(path) * table - table).norm() < 1e-12);
  CHECK(truthFromReport("").isApprox(Eigen::Isometry3d::Identity()));
  std::ofstream(path) << "{}";
  CHECK_THROWS_AS(truthFromReport(path), std::runtime_error);
  CHECK_THROWS_AS(shapeInCapture(scratch.path), std::runtime_error);
}
