// SPDX-License-Identifier: Apache-2.0
#include "capture/printed_mat.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <opencv2/imgproc.hpp>
#include <set>
#include <sstream>

#include "capture/marker_detection.h"
#include "capture/marker_edges.h"
#include "capture/mat_file.h"
#include "capture/paper_size.h"
#include "mesh/bad_input.h"
#include "tests/pdf_raster.h"

using namespace holdshelf;

namespace {

constexpr double kDotsPerInch = 101.6, kPixelsPerMm = kDotsPerInch / 25.4;

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
    const cv::Mat page = test::rasterisedPdf(printed.pdf, kDotsPerInch);
    CHECK(std::abs(page.cols - width * kPixelsPerMm) <= 1.01);
    CHECK(std::abs(page.rows - height * kPixelsPerMm) <= 1.01);
    const auto found = detectMarkers(page, printed.mat);
    REQUIRE(int(found.size()) == printed.mat.markers_size());
    cv::Mat light;
    page.convertTo(light, CV_32FC1, 1 / 255.0);
    const auto corners = matCorners_M_mm(printed.mat, 1);
    double worst_mm = 0;
    for (const auto& sighting : found) {
      const MarkerEdges edges = refineMarker(light, sighting.corners_px, 7, nullptr);
      for (size_t c = 0; c < 4; ++c) {
        REQUIRE(edges.sigma_px[c] > 0);
        // The origin lies in the middle of the sheet's width and 18 mm above half of the rest.
        const Eigen::Vector2d mm = corners[4 * size_t(sighting.marker) + c];
        const Eigen::Vector2d expected(width / 2 + mm.x(), (height - 18) / 2 - mm.y());
        const Eigen::Vector2d px = edges.corners_px[c] + Eigen::Vector2d(0.5, 0.5);
        worst_mm = std::max(worst_mm, (px / kPixelsPerMm - expected).cwiseAbs().maxCoeff());
      }
    }
    CHECK(worst_mm < 0.1);
    for (const auto& marker : printed.mat.markers()) CHECK(ids.insert(marker.id()).second);
    for (const auto& corner : corners) {
      CHECK(std::abs(corner.x()) < width / 2 - 7);  // Printers leave about 5 mm blank.
      CHECK(std::abs(corner.y()) < height / 2 - 7);
    }
  }
}

TEST_CASE("makeMat: the ruler's marks lie a true millimetre apart") {
  const cv::Mat page = test::rasterisedPdf(makeMat("A4").pdf, 600);
  constexpr double kPixels = 600 / 25.4;
  // Along a line through the upper ends of the marks for whole centimetres: 9.5 mm above the
  // strip's foot, which lies 6 mm above the sheet's edge.
  const auto* row = page.ptr<unsigned char>(int((297 - 6 - 9.5) * kPixels));
  std::vector<double> marks_mm;
  const int right = int((105 - 93 + 4 + 102) * kPixels);
  for (int x = 0; x < right;) {
    double dark = 0, moment = 0;
    for (; x < right && row[x] < 250; ++x)
      dark += 255 - row[x], moment += (255 - row[x]) * (x + 0.5);
    if (dark > 0) marks_mm.push_back(moment / dark / kPixels);
    ++x;
  }
  REQUIRE(marks_mm.size() == 11);
  for (size_t i = 0; i < 11; ++i)
    CHECK(std::abs(marks_mm[i] - marks_mm[0] - 10 * double(i)) < 0.03);
}

TEST_CASE("makeMat: the file has one sheet of ISO 216 size, asks not to be scaled, and repeats") {
  const std::string pdf = makeMat("A4").pdf;
  CHECK(pdf == makeMat("A4").pdf);
  CHECK(pdf.find("/PrintScaling /None") != std::string::npos);
  CHECK(pdf.find("/Count 1 ") != std::string::npos);
  const size_t at = pdf.find("/MediaBox [ 0 0 ");
  REQUIRE(at != std::string::npos);
  std::istringstream box(pdf.substr(at + 16));
  double width = 0, height = 0;
  box >> width >> height;
  CHECK(std::abs(width - 595.2756) < 1e-3);  // ISO 216: 210 x 297 mm, in points.
  CHECK(std::abs(height - 841.8898) < 1e-3);
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
  constexpr double kPixels = 2400 / 25.4;
  // The strip's right end holds the three marks; words lie above and below them.
  const cv::Rect strip(int(145 * kPixels), int((297 - 6 - 14.9) * kPixels), int(55 * kPixels),
                       int(11.8 * kPixels));
  const cv::Mat page = test::rasterisedPdf(makeMat("A4").pdf, 2400, 1, strip);
  cv::Mat labels, stats, centres;
  const cv::Mat ink = 255 - page;
  const int count = cv::connectedComponentsWithStats(ink > 127, labels, stats, centres, 8, CV_32S);
  std::vector<std::pair<int, double>> marks;  // Left end, elevation at which it looks round.
  for (int i = 1; i < count; ++i) {
    const auto at = [&](int what) { return stats.at<int>(i, what); };
    if (std::abs(at(cv::CC_STAT_WIDTH) / kPixels - 3) > 0.1) continue;
    // The second moments of the ink tell an ellipse's axes far finer than its pixels do.
    const cv::Rect box(at(cv::CC_STAT_LEFT) - 2, at(cv::CC_STAT_TOP) - 2, at(cv::CC_STAT_WIDTH) + 4,
                       at(cv::CC_STAT_HEIGHT) + 4);
    const cv::Moments m = cv::moments(ink(box & cv::Rect({0, 0}, ink.size())));
    marks.emplace_back(box.x, std::asin(std::sqrt(m.mu20 / m.mu02)) * 180 / M_PI);
  }
  std::sort(marks.begin(), marks.end());
  REQUIRE(marks.size() == 3);
  CHECK(std::abs(marks[0].second - 15) < 0.1);
  CHECK(std::abs(marks[1].second - 40) < 0.1);
  CHECK(std::abs(marks[2].second - 65) < 0.1);
}
