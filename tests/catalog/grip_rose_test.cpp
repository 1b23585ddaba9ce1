// SPDX-License-Identifier: Apache-2.0
#include "catalog/grip_rose.h"

#include <doctest/doctest.h>

#include <cmath>
#include <cstdio>
#include <string>

#include "catalog/grip_map.h"
#include "mesh/bad_input.h"
#include "mesh/png.h"
#include "tests/shapes/faceted_shape.h"

using namespace holdshelf;

static int count(const std::string& text, const std::string& part) {
  int n = 0;
  for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++n;
  return n;
}

TEST_CASE("gripRoseSvg: every mounting with a word carries it as text, not by colour alone") {
  const Shape shape = facetedShape(
      {{.facing_deg = 90, .depth_mm = 45, .width_mm = 110, .lip_radius_mm = 8, .incut_deg = 25}});
  const GripMap map = makeGripMap(GripModel(shape));
  const std::string svg = gripRoseSvg(map, "A & B <hold>");
  CHECK(count(svg, "<path ") == 72 * 17);
  int jugs = 0, named = 0;
  for (int r = 0; r < 72; ++r)
    for (int w = 0; w < 17; ++w) {
      const auto cell = lookUp(map, {5.0 * r, 5.0 * w - 20, 0});
      const bool foot = cell->reach <= 0.30 && cell->toe >= 0.35;
      jugs += !foot && cell->kind == GripKind::Jug;
      named += foot || cell->kind != GripKind::None;
    }
  CHECK(jugs > 24);
  CHECK(count(svg, ">J</text>") == jugs + 1);     // And once in the legend.
  CHECK(count(svg, "font-size=\"7\"") == named);  // A letter in each cell with a word.
  CHECK(count(svg, ">jug 1.00</text>") == 1);     // The area's word and strongest force.
  CHECK(count(svg, "A &amp; B &lt;hold>") == 1);
  CHECK(count(svg, "Test climb before opening") == 1);
}

TEST_CASE("gripRosePng: twice the SVG's size, the same cells in the same places") {
  const Shape shape = facetedShape(
      {{.facing_deg = 90, .depth_mm = 45, .width_mm = 110, .lip_radius_mm = 8, .incut_deg = 25}});
  const GripMap map = makeGripMap(GripModel(shape));
  const std::string png = gripRosePng(map, "A & B <hold>"), svg = gripRoseSvg(map, "");
  const RasterImage image = decodePng({png.begin(), png.end()}, "rose");
  CHECK(image.width_px == 2000);
  CHECK(image.height_px == 2120);
  // The cell of a wall of +10 degrees, 6 rings out, beside its letter, at a rotation.
  const auto colourAt = [&](double rotation_deg) {
    const double radius = 118 + 6.5 * (440 - 118) / 17.0, turn = (rotation_deg + 1.7) * M_PI / 180;
    const auto x = static_cast<std::size_t>(2 * (500 - radius * std::sin(turn)));
    const auto y = static_cast<std::size_t>(2 * (500 - radius * std::cos(turn)));
    const std::uint8_t* rgb = &image.rgb[3 * (y * 2000 + x)];
    char hex[8];
    std::snprintf(hex, sizeof hex, "#%02x%02x%02x", rgb[0], rgb[1], rgb[2]);
    return std::string(hex);
  };
  CHECK(colourAt(180) == "#f7f7f7");  // Nothing to hold.
  CHECK(colourAt(5) != "#f7f7f7");
  CHECK(count(svg, "fill=\"" + colourAt(5) + "\"") > 0);
  CHECK_THROWS_AS(gripRosePng(GripMap(), ""), BadInput);
}

TEST_CASE("gripRoseSvg: a map of another version is refused") {
  GripMap map = makeGripMap(GripModel(facetedShape({{.depth_mm = 20}})));
  map.set_model_version(kGripModelVersion + 1);
  CHECK_THROWS_AS(gripRoseSvg(map, ""), BadInput);
  CHECK_THROWS_AS(gripRoseSvg(GripMap(), ""), BadInput);
}
