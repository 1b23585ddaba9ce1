// SPDX-License-Identifier: Apache-2.0
#include "capture/mat_in_view.h"

#include <doctest/doctest.h>

#include <cmath>

using namespace holdshelf;
using Eigen::Vector2d;

namespace {

/// A ring of `count` markers of 20 mm about (5, -3), 100 mm away.
std::vector<Vector2d> ring(int count) {
  std::vector<Vector2d> corners;
  for (int k = 0; k < count; ++k) {
    const double a = (k + 0.5) * 2 * M_PI / count;
    const Vector2d middle = Vector2d(5, -3) + 100 * Vector2d(std::cos(a), std::sin(a));
    for (const Vector2d& d :
         {Vector2d(-10, 10), Vector2d(10, 10), Vector2d(10, -10), Vector2d(-10, -10)})
      corners.push_back(middle + d);
  }
  return corners;
}

}  // namespace

TEST_CASE("matInView: markers all round, however few, are no cover") {
  const auto corners = ring(16);
  std::vector<int> seen(corners.size(), 5);
  CHECK(matInView(corners, seen).share == 1);
  CHECK(matInView(corners, seen).gap_deg < 30);
  for (std::size_t c = 0; c < seen.size(); ++c)
    if (c / 4 % 2) seen[c] = 2;  // Every second one is hardly seen.
  const MatInView half = matInView(corners, seen);
  CHECK(half.share == 0.5);
  CHECK(half.gap_deg < 45);
  CHECK_FALSE(half.covered());
  CHECK_FALSE(half.scarce());
}

TEST_CASE("matInView: a covered side is one, and a corner hidden hides its marker") {
  const auto corners = ring(16);
  std::vector<int> seen(corners.size(), 5);
  // The eight markers with x > 5 lose one corner each: by geometry what is left spans 180 degrees
  // and the two markers' own widths are missing from the other 180.
  for (int k : {0, 1, 2, 3, 12, 13, 14, 15}) seen[std::size_t(4 * k + 1)] = 0;
  const MatInView view = matInView(corners, seen);
  CHECK(view.share == 0.5);
  CHECK(view.gap_deg > 170);
  CHECK(view.gap_deg < 202.5);  // Between the middles of the outermost two.
  CHECK(view.covered());
}

TEST_CASE("matInView: nothing seen at all") {
  const auto corners = ring(8);
  const MatInView view = matInView(corners, std::vector<int>(corners.size(), 0));
  CHECK(view.share == 0);
  CHECK(view.gap_deg == 360);
  CHECK(view.covered());
}
