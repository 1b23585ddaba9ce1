// SPDX-License-Identifier: Apache-2.0
#include "mesh/overlay_plot.h"

#include <doctest/doctest.h>

#include "mesh/bad_input.h"

using namespace holdshelf;
using Eigen::Vector2d;

TEST_CASE("overlay plot: both forms, with the largest gap and the usual one in words") {
  OverlayPlot overlay;
  for (int i = 0; i < 20; ++i) {
    overlay.wanted_mm.emplace_back(20 - i, -0.5 * i);
    overlay.found_mm.emplace_back(20 - i, -0.5 * i + (i == 7 ? 3 : 0));
  }
  overlay.wanted_words = "drawn";
  overlay.found_words = "H-0001";
  overlay.caption = "Lip";
  const Plot plot = plotOverlay(overlay);
  CHECK(plot.svg.find("<svg") != std::string::npos);
  CHECK(plot.png.substr(1, 3) == "PNG");
  // One gap of 3 mm of twenty: 3 / sqrt(20) = 0.67. A line that bulges elsewhere draws otherwise.
  overlay.found_mm[7].y() -= 6;
  CHECK(plotOverlay(overlay).svg != plot.svg);
  overlay.found_mm.pop_back();
  CHECK_THROWS_AS(plotOverlay(overlay), BadInput);
}
