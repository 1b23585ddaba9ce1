// SPDX-License-Identifier: Apache-2.0
#include "capture/printed_mat.h"

#include <doctest/doctest.h>

#include <opencv2/imgproc.hpp>
#include <set>
#include <sstream>

#include "capture/marker_detection.h"
#include "capture/marker_edges.h"
#include "capture/mat_file.h"
#include "capture/paper_size.h"
#include "mesh/bad_input.h"

using namespace holdshelf;

namespace {

constexpr double kPixelsPerMm = 6;

/// The page's filled rectangles, placed by its one `cm` matrix, drawn at 6 pixels a millimetre: a
/// reader of the file on its own, by the operators of ISO 32000-1 section 8.
cv::Mat rasterised(const std::string& pdf, double height_mm, double width_mm) {
  cv::Mat page(cv::Size(int(width_mm * kPixelsPerMm), int(height_mm * kPixelsPerMm)), CV_8UC1,
               cv::Scalar(255));
  std::istringstream in(pdf.substr(pdf.find("stream\n") + 7));
  std::vector<double> stack;
  double scale = 0, x0 = 0, y0 = 0;
  for (std::string word; in >> word && word != "endstream";) {
    if (word == "cm") {
      scale = stack.at(0), x0 = stack.at(4), y0 = stack.at(5);
      CHECK(stack.at(3) == scale);
    } else if (word == "re") {
      const auto pixels = [&](double points) { return points / 72 * 25.4 * kPixelsPerMm; };
      const double left = pixels(scale * stack.at(0) + x0), low = pixels(scale * stack.at(1) + y0);
      const double right = left + pixels(scale * stack.at(2)),
                   high = low + pixels(scale * stack.at(3));
      for (int y = int(std::lround(page.rows - high)); y < std::lround(page.rows - low); ++y)
        for (int x = int(std::lround(left)); x < std::lround(right); ++x)
          page.at<unsigned char>(y, x) = 0;
    } else {
      std::istringstream number(word);
      double value = 0;
      if (number >> value && number.eof()) {
        stack.push_back(value);
        continue;
      }
    }
    stack.clear();
  }
  return page;
}

}  // namespace

TEST_CASE(
    "makeMat: every marker of the page lies where the description says, in true millimetres") {
  std::set<int> ids;
  for (const std::string paper : {"A4", "A3", "A2"}) {
    CAPTURE(paper);
    const PrintedMat printed = makeMat(paper);
    checkMat(printed.mat, paper);
    const double width = printed.mat.paper_width_mm(), height = printed.mat.paper_height_mm();
    REQUIRE(nearestPaper(width, height));
    CHECK(nearestPaper(width, height)->name == paper);
    const cv::Mat page = rasterised(printed.pdf, height, width);
    const auto found = detectMarkers(page, printed.mat);
    REQUIRE(int(found.size()) == printed.mat.markers_size());
    cv::Mat light;
    page.convertTo(light, CV_32FC1, 1 / 255.0);
    const auto corners = matCorners_M_mm(printed.mat, 1);
    double worst = 0;
    for (const auto& sighting : found) {
      const MarkerEdges edges = refineMarker(light, sighting.corners_px, 7, nullptr);
      for (size_t c = 0; c < 4; ++c) {
        REQUIRE(edges.sigma_px[c] > 0);
        // The origin lies in the middle of the sheet's width and 18 mm above half of the rest.
        const Eigen::Vector2d mm = corners[4 * size_t(sighting.marker) + c];
        const Eigen::Vector2d expected(width / 2 + mm.x(), (height - 18) / 2 - mm.y());
        const Eigen::Vector2d px = edges.corners_px[c] + Eigen::Vector2d(0.5, 0.5);
        worst = std::max(worst, (px / kPixelsPerMm - expected).cwiseAbs().maxCoeff());
      }
    }
    CHECK(worst < 0.6 / kPixelsPerMm);  // Cells are drawn to whole pixels.
    for (const auto& marker : printed.mat.markers()) CHECK(ids.insert(marker.id()).second);
    for (const auto& corner : corners) {
      CHECK(std::abs(corner.x()) < width / 2 - 7);  // Printers leave about 5 mm blank.
      CHECK(std::abs(corner.y()) < height / 2 - 7);
    }
  }
}

TEST_CASE("makeMat: the file is a whole PDF that asks not to be scaled") {
  const std::string pdf = makeMat("A4").pdf;
  CHECK(pdf.starts_with("%PDF-1."));
  CHECK(pdf.ends_with("%%EOF\n"));
  CHECK(pdf.find("/PrintScaling /None") != std::string::npos);
  // ISO 216: 210 x 297 mm is 595.2756 x 841.8898 points.
  CHECK(pdf.find("[0 0 595.2756 841.8898]") != std::string::npos);
  // Each entry of the table points at its object, and the trailer at the table.
  const size_t table = std::stoul(pdf.substr(pdf.rfind("startxref\n") + 10));
  REQUIRE(pdf.compare(table, 5, "xref\n") == 0);
  std::istringstream rows(pdf.substr(table));
  std::string line;
  std::getline(rows, line), std::getline(rows, line), std::getline(rows, line);
  for (int object = 1; object <= 5; ++object) {
    std::getline(rows, line);
    CHECK(line.size() == 19);  // And the newline: twenty bytes, as the standard wants.
    CHECK(pdf.compare(std::stoul(line), 8, std::to_string(object) + " 0 obj\n") == 0);
  }
  const size_t length_at = pdf.find("/Length ") + 8, begin = pdf.find("stream\n") + 7;
  CHECK(std::stoul(pdf.substr(length_at)) == pdf.find("endstream") - begin);
}

TEST_CASE("makeMat: the middle is a cross between four markers") {
  for (const char* paper : {"A4", "A3", "A2"}) {
    const auto corners = matCorners_M_mm(makeMat(paper).mat, 1);
    double nearest = 1e9;
    Eigen::Vector2d sum(0, 0);
    for (const auto& c : corners) nearest = std::min(nearest, c.cwiseAbs().minCoeff()), sum += c;
    CHECK(nearest >= 3 - 1e-9);
    CHECK(sum.norm() < 1e-6);
  }
}

TEST_CASE("makeMat: another paper gets a sentence") {
  CHECK_THROWS_WITH_AS(makeMat("B5"), doctest::Contains("choose A4, A3 or A2"), BadInput);
}

TEST_CASE("makeMat: three marks look round from the heights of the three rings") {
  std::istringstream in(makeMat("A4").pdf);
  std::vector<double> elevations;
  double left = 0, right = 0, low = 0, high = 0, x = 0, y = 0, a, b, c, d;
  std::string op;
  for (std::string line; std::getline(in, line);) {
    std::istringstream words(line);
    if (words >> x >> y >> op && op == "m") {
      left = right = x, low = high = y;
      continue;
    }
    words = std::istringstream(line);
    if (!(words >> a >> b >> c >> d >> x >> y >> op) || op != "c") continue;
    left = std::min(left, x), right = std::max(right, x);
    low = std::min(low, y), high = std::max(high, y);
    // The fourth curve comes back to the right end: the ellipse is complete.
    if (x == right && elevations.size() < 3)
      elevations.push_back(std::asin((right - left) / (high - low)) * 180 / M_PI);
  }
  REQUIRE(elevations.size() == 3);
  CHECK(std::abs(elevations[0] - 15) < 0.1);
  CHECK(std::abs(elevations[1] - 40) < 0.1);
  CHECK(std::abs(elevations[2] - 65) < 0.1);
}
