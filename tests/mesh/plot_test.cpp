// SPDX-License-Identifier: Apache-2.0
#include "mesh/plot.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "mesh/bad_input.h"
#include "mesh/cut_plot.h"
#include "mesh/measure_shape.h"
#include "mesh/plane_cut.h"
#include "mesh/png.h"
#include "mesh/rose_plot.h"
#include "mesh/section_plot.h"
#include "mesh/slope_plot.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;

namespace {

RasterImage decoded(const Plot& plot) {
  return decodePng({plot.png.begin(), plot.png.end()}, "plot.png");
}

/// What a photocopier makes of a pixel: Rec. 601 luma.
double grey(const RasterImage& image, int x, int y) {
  const std::uint8_t* p = &image.rgb[3 * static_cast<std::size_t>(y * image.width_px + x)];
  return 0.299 * p[0] + 0.587 * p[1] + 0.114 * p[2];
}

/// The paper's tone around a place, past thin lines and hatching: the median of 15 by 15 pixels.
double tone(const RasterImage& image, int x, int y) {
  std::vector<double> greys;
  for (int dy = -7; dy <= 7; ++dy)
    for (int dx = -7; dx <= 7; ++dx) greys.push_back(grey(image, x + dx, y + dy));
  std::nth_element(greys.begin(), greys.begin() + 112, greys.end());
  return greys[112];
}

const Shape& chipShape() {
  static const Shape shape = [] {
    const ExactHold chip = holdNamed("chip");
    return measureShape(meshSdf(chip.solid, chip.box_mm, 0.8), {.rotation_step_deg = 30});
  }();
  return shape;
}

}  // namespace

TEST_CASE("Slope map: every band of a half sphere is a darker grey than the one inside it") {
  const ExactHold dome = domeHold(40, 40);
  const RasterImage image = decoded(plotSlope(meshSdf(dome.solid, dome.box_mm, 0.7)));
  // The left view is 800 by 760 pixels with its middle at (460, 564), 6 % of margin.
  const double px_per_mm = 0.88 * 760 / 80;
  double before = 256;
  for (int band = 0; band < 5; ++band) {
    CAPTURE(band);
    const double slope = (15 * band + 7.5) * M_PI / 180;
    const double r = 40 * std::sin(slope) * px_per_mm;
    // To the lower left, where no label of a ring's middle lies.
    const double here = tone(image, static_cast<int>(460 - r * std::cos(0.9)),
                             static_cast<int>(564 + r * std::sin(0.9)));
    CHECK(here < before - 8);
    before = here;
  }
  CHECK(tone(image, 460 - 390, 564 - 370) == 255);  // Paper.
}

TEST_CASE("Pictures come in both forms, at the sizes they say") {
  const PlaneCut cut = [] {
    const ExactHold chip = holdNamed("chip");
    const TriangleMesh mesh = meshSdf(chip.solid, chip.box_mm, 1);
    return cutByPlane(mesh, buildTopology(mesh), {0, 0, 1}, 3);
  }();
  for (const Plot& plot : {plotSection(chipShape(), 0), plotRose(chipShape()), plotCut(cut)}) {
    const RasterImage image = decoded(plot);
    CHECK(plot.svg.find("<svg") != std::string::npos);
    CHECK(plot.svg.find("width=\"" + std::to_string(image.width_px / 2)) != std::string::npos);
    std::size_t dark = 0;
    for (int y = 0; y < image.height_px; ++y)
      for (int x = 0; x < image.width_px; ++x) dark += grey(image, x, y) < 60;
    CHECK(dark > 3000);  // Lines and words, black enough to copy.
  }
}

TEST_CASE("Section: the lip's circle lies on the drawn outline") {
  const Grip& grip = chipShape().grips(0);
  const Section& section = chipShape().sections(0);
  REQUIRE(grip.has_lip_centre_mm());
  double nearest = 1e300;
  for (const Point2& p : section.points_mm())
    nearest = std::min(nearest, std::abs(std::hypot(p.x() - grip.lip_centre_mm().x(),
                                                    p.y() - grip.lip_centre_mm().y()) -
                                         grip.lip_radius_mm().value()));
  CHECK(nearest < 0.05);
  CHECK(grip.lip_centre_mm().y() + grip.lip_radius_mm().value() ==
        doctest::Approx(grip.lip_z_mm()).epsilon(0.01));
}

TEST_CASE("A section that was not measured is refused") {
  CHECK_THROWS_AS(plotSection(chipShape(), 17), BadInput);
  CHECK_THROWS_AS(plotSection(chipShape(), 0, 3.21), BadInput);
}
