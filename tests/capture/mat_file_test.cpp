// SPDX-License-Identifier: Apache-2.0
#include "capture/mat_file.h"

#include <doctest/doctest.h>

#include <fstream>
#include <limits>

#include "mesh/bad_input.h"
#include "tests/capture/mat_scene.h"
#include "tests/complaint.h"

using namespace holdshelf;

namespace {

std::string complaint(const Mat& mat) {
  return test::complaintOf([&] { checkMat(mat, "m.json"); });
}

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

void moveMarker(Marker& marker, double dx, double dy) {
  for (auto& corner : *marker.mutable_corners()) {
    corner.set_x(corner.x() + dx);
    corner.set_y(corner.y() + dy);
  }
}

}  // namespace

TEST_CASE("parseMat: a mat in JSON comes back with its corners scaled") {
  const std::string json = R"({"name": "one", "dictionary": "DICT_4X4_50", "markers": [{"id": 3,
    "corners": [{"x": 0, "y": 20}, {"x": 20, "y": 20}, {"x": 20}, {}]}], "paperWidthMm": 210,
    "paperHeightMm": 297})";
  const Mat mat = parseMat(json, "one.json");
  CHECK(mat.paper_width_mm() == 210);
  const auto corners = matCorners_M_mm(mat, 0.98);
  REQUIRE(corners.size() == 4);
  CHECK((corners[1] - Eigen::Vector2d(19.6, 19.6)).norm() < 1e-12);
  CHECK(corners[3].norm() == 0);
}

TEST_CASE("checkMat: a turned marker on a good mat passes") {
  Mat mat = scene::borderMat();
  CHECK(complaint(mat).empty());
  // Turned by a right angle, as when a sheet was stuck on sideways.
  mat.mutable_markers(0)->mutable_corners()->SwapElements(0, 1);
  mat.mutable_markers(0)->mutable_corners()->SwapElements(1, 2);
  mat.mutable_markers(0)->mutable_corners()->SwapElements(2, 3);
  CHECK(complaint(mat).empty());
}

TEST_CASE("checkMat: each fault has its sentence") {
  const Mat good = scene::borderMat();
  Mat mat = good;
  mat.set_dictionary("DICT_9X9");
  CHECK(has(complaint(mat), "unknown dictionary \"DICT_9X9\""));
  mat = good;
  mat.clear_markers();
  CHECK(has(complaint(mat), "no markers"));
  mat = good;
  mat.mutable_markers(3)->set_id(250);
  CHECK(has(complaint(mat), "ids 0 to 249"));
  mat.mutable_markers(3)->set_id(-1);
  CHECK(has(complaint(mat), "ids 0 to 249"));
  mat = good;
  mat.mutable_markers(3)->set_id(mat.markers(0).id());
  CHECK(has(complaint(mat), "marker 10 is listed twice"));
  mat = good;
  mat.mutable_markers(2)->mutable_corners()->RemoveLast();
  CHECK(has(complaint(mat), "has 3 corners"));
  mat = good;
  mat.mutable_markers(2)->mutable_corners()->SwapElements(0, 2);
  mat.mutable_markers(2)->mutable_corners()->SwapElements(0, 0);
  mat.mutable_markers(2)->mutable_corners()->SwapElements(1, 3);
  CHECK(complaint(mat).empty());  // A half turn is still clockwise.
  mat.mutable_markers(2)->mutable_corners()->SwapElements(1, 3);
  CHECK(has(complaint(mat), "counter-clockwise"));
  mat = good;
  mat.mutable_markers(2)->mutable_corners()->SwapElements(0, 1);
  CHECK(has(complaint(mat), "no square"));  // A bow tie.
  mat = good;
  *mat.mutable_markers(2)->mutable_corners(1) = mat.markers(2).corners(0);
  CHECK(has(complaint(mat), "side outside 2 to 2000 mm"));
  mat = good;
  mat.mutable_markers(2)->mutable_corners(1)->set_x(1e9);
  CHECK(has(complaint(mat), "side outside"));
  mat = good;
  mat.mutable_markers(2)->mutable_corners(1)->set_x(std::numeric_limits<double>::quiet_NaN());
  CHECK(has(complaint(mat), "not a finite number"));
  mat = good;
  moveMarker(*mat.mutable_markers(1), -25, 0);
  CHECK(has(complaint(mat), "marker 11 overlaps marker 10"));
  mat = good;
  moveMarker(*mat.mutable_markers(1), 4000, 0);
  CHECK(complaint(mat).empty());
  moveMarker(*mat.mutable_markers(1), 16'000, 20'000);
  CHECK(has(complaint(mat), "farther apart than 5000 mm"));
  mat = good;
  for (int m = 0; m < mat.markers_size(); ++m) moveMarker(*mat.mutable_markers(m), 9000, -9000);
  CHECK(complaint(mat).empty());  // Where the zero lies is the mat's own business.
  mat = good;
  mat.set_paper_width_mm(-3);
  CHECK(has(complaint(mat), "paper size"));
}

TEST_CASE("readMat: a missing file, broken JSON and an unknown field") {
  const scene::TemporaryFolder folder("holdshelf_mat_");
  CHECK_THROWS_WITH_AS(readMat(folder / "no.json"), doctest::Contains("there is no such mat file"),
                       BadInput);
  std::ofstream(folder / "cut.json") << "{\"name\": \"x\", \"markers\": [";
  CHECK_THROWS_WITH_AS(readMat(folder / "cut.json"), doctest::Contains("not a mat description"),
                       BadInput);
  std::ofstream(folder / "odd.json") << "{\"markersize\": 3}";
  CHECK_THROWS_WITH_AS(readMat(folder / "odd.json"), doctest::Contains("markersize"), BadInput);
}
