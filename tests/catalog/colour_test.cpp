// SPDX-License-Identifier: Apache-2.0
#include "catalog/colour.h"

#include <doctest/doctest.h>

#include <cmath>
#include <string>

#include "mesh/bad_input.h"

using namespace holdshelf;

TEST_CASE("labFromHex: the sRGB corners") {
  // Published to two decimals for sRGB with the D65 white.
  struct {
    const char* hex;
    Lab lab;
  } const corners[] = {{"#ffffff", {100, 0, 0}},
                       {"#000000", {0, 0, 0}},
                       {"#ff0000", {53.24, 80.09, 67.20}},
                       {"#00ff00", {87.73, -86.18, 83.18}},
                       {"#0000ff", {32.30, 79.19, -107.86}},
                       {"#ffff00", {97.14, -21.55, 94.48}}};
  for (const auto& corner : corners) {
    CAPTURE(corner.hex);
    const Lab lab = labFromHex(corner.hex);
    CHECK(std::abs(lab.L - corner.lab.L) < 0.05);
    CHECK(std::abs(lab.a - corner.lab.a) < 0.05);
    CHECK(std::abs(lab.b - corner.lab.b) < 0.05);
  }
}

TEST_CASE("labFromHex: what is no colour") {
  for (const char* bad : {"", "#", "#12345", "red", "#gg0000", "#1234567"}) {
    CAPTURE(bad);
    CHECK_THROWS_AS(labFromHex(bad), BadInput);
  }
}

TEST_CASE("colourName: centroids of the ISCC-NBS blocks get their block's term") {
  // Kelly and Judd, NBS SP 440, 1976; sRGB centroids as published with the dictionary.
  struct {
    const char *hex, *term;
  } const centroids[] = {{"#be0032", "red"},    {"#bc3f4a", "red"},    {"#222222", "black"},
                         {"#4997d0", "blue"},   {"#ffb5ba", "pink"},   {"#fada5e", "yellow"},
                         {"#fd943f", "orange"}, {"#d399e6", "purple"}, {"#3eb489", "green"}};
  for (const auto& centroid : centroids) {
    CAPTURE(centroid.hex);
    CHECK(basicTerm(colourName(labFromHex(centroid.hex))) == centroid.term);
  }
  CHECK(colourName(labFromHex("#be0032")) == "vivid red");
}

TEST_CASE("colourName: CSS colours that bear a basic term's name") {
  struct {
    const char *hex, *term;
  } const named[] = {{"#ff0000", "red"},    {"#00ff00", "green"},  {"#008000", "green"},
                     {"#0000ff", "blue"},   {"#000080", "blue"},   {"#ffff00", "yellow"},
                     {"#ffa500", "orange"}, {"#800080", "purple"}, {"#a52a2a", "red"},
                     {"#ffc0cb", "pink"},   {"#ff69b4", "pink"},   {"#808080", "grey"},
                     {"#ffffff", "white"},  {"#000000", "black"},  {"#8b4513", "brown"},
                     {"#add8e6", "blue"},   {"#90ee90", "green"},  {"#8b0000", "red"},
                     {"#ff8c00", "orange"}, {"#006400", "green"},  {"#d3d3d3", "grey"}};
  for (const auto& colour : named) {
    CAPTURE(colour.hex);
    CHECK(basicTerm(colourName(labFromHex(colour.hex))) == colour.term);
  }
  CHECK(colourName(labFromHex("#006400")) == "deep green");  // Dark, and as strong as it can be.
  CHECK(colourName(labFromHex("#2a4a2a")) == "dark green");
  CHECK(colourName(labFromHex("#d3d3d3")) == "light grey");
  CHECK(colourName(labFromHex("#add8e6")) == "pale blue");
}

TEST_CASE("colourName: the modifier never changes the term over small steps of lightness") {
  // Walking a hue from dark to light meets each term in one run, never twice.
  for (int hue = 0; hue < 360; hue += 15) {
    std::string seen = "|", last;
    for (double L = 2; L < 98; L += 0.5) {
      const double h = hue * 3.14159265358979 / 180;
      const std::string term = basicTerm(colourName({L, 40 * std::cos(h), 40 * std::sin(h)}));
      if (term == last) continue;
      CAPTURE(hue);
      CAPTURE(term);
      CHECK(seen.find("|" + term + "|") == std::string::npos);
      seen += term + "|";
      last = term;
    }
  }
}
