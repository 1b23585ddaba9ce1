// SPDX-License-Identifier: Apache-2.0
#include "catalog/rose_canvas.h"

#include <doctest/doctest.h>

#include <cmath>

#include "mesh/png.h"

using namespace holdshelf;

TEST_CASE("roseSpot: counter-clockwise from the top, y down") {
  const auto at = [](double rotation_deg, double x, double y) {
    const auto spot = roseSpot(100, rotation_deg);
    CHECK(std::abs(spot[0] - x) < 1e-9);
    CHECK(std::abs(spot[1] - y) < 1e-9);
  };
  at(0, 500, 400);
  at(90, 400, 500);
  at(180, 500, 600);
  at(270, 600, 500);
}

TEST_CASE("rose canvas: SVG of the shapes, with words made safe") {
  SvgRoseCanvas canvas;
  canvas.sector({100, 200, 0, 90}, {255, 16, 0});
  canvas.square(10, 20, 30, {0, 0, 255});
  canvas.text({40, 50, 12, 0.5, true, 3}, "a < b & c");
  const std::string svg = canvas.picture();
  CHECK(svg.starts_with("<svg "));
  CHECK(svg.ends_with("</svg>\n"));
  CHECK(svg.find("<path d=\"M500.0 400.0L500.0 300.0A200.0 200.0 0 0 0 300.0 500.0L400.0 "
                 "500.0A100.0 100.0 0 0 1 500.0 400.0\" fill=\"#ff1000\"") != std::string::npos);
  CHECK(svg.find("<rect x=\"10\" y=\"20\" width=\"30\" height=\"30\" fill=\"#0000ff\"/>") !=
        std::string::npos);
  CHECK(svg.find("text-anchor=\"middle\" font-weight=\"bold\" stroke=\"#fff\" stroke-width=\"3\" "
                 "paint-order=\"stroke\">a &lt; b &amp; c</text>") != std::string::npos);
}

TEST_CASE("rose canvas: a pen paints the same places") {
  const std::string png = drawPlot(1000, 1060, [](Pen& pen) {
                            PenRoseCanvas canvas(pen);
                            canvas.sector({100, 200, 0, 5}, {255, 0, 0});
                            canvas.square(10, 20, 30, {0, 0, 255});
                          }).png;
  const RasterImage image = decodePng({png.begin(), png.end()}, "rose");
  const double scale = image.width_px / 1000.0;
  const auto colourAt = [&](double x, double y) {
    const auto column = static_cast<std::size_t>(x * scale),
               row = static_cast<std::size_t>(y * scale);
    const std::uint8_t* rgb =
        &image.rgb[3 * (row * static_cast<std::size_t>(image.width_px) + column)];
    return rgb[0] << 16 | rgb[1] << 8 | rgb[2];
  };
  CHECK(colourAt(25, 35) == 0x0000ff);
  CHECK(colourAt(45, 35) == 0xffffff);
  const auto inside = roseSpot(150, 2.5), beyond = roseSpot(210, 2.5), beside = roseSpot(150, 8);
  CHECK(colourAt(inside[0], inside[1]) == 0xff0000);
  CHECK(colourAt(beyond[0], beyond[1]) == 0xffffff);
  CHECK(colourAt(beside[0], beside[1]) == 0xffffff);
}
