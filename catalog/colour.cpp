// SPDX-License-Identifier: Apache-2.0
#include "catalog/colour.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "catalog/shown_text.h"
#include "mesh/bad_input.h"
#include "mesh/srgb.h"

namespace holdshelf {
namespace {

struct LCh {
  double L, C, h_deg;
};

double linear(double channel) { return linearOfSrgb(std::clamp(channel, 0.0, 1.0)); }

double labCurve(double t) {
  constexpr double kDelta = 6.0 / 29;
  return t > kDelta * kDelta * kDelta ? std::cbrt(t) : t / (3 * kDelta * kDelta) + 4.0 / 29;
}

/// Hue at which blue turns to purple: lines of one hue bend in CIELAB's blues, the lighter the
/// more.
double purpleFrom_deg(double L) { return std::clamp(309 - 0.5 * (L - 32), 296.0, 309.0); }

std::string neutralTerm(double L) {
  if (L < 24) return "black";
  if (L > 88) return "white";
  return "grey";
}

/// Reds: pink where they are light, by hue.
std::string redTerm(const LCh& c) {
  const double h = c.h_deg > 180 ? c.h_deg - 360 : c.h_deg;
  if (h < 0) return c.L > 45 ? "pink" : h < -15 ? "purple" : "red";
  if (h < 20) return c.L > 52 ? "pink" : "red";
  return c.L > 62 && c.C < 65 ? "pink" : "red";
}

std::string warmTerm(const LCh& c) {
  const bool brown = c.L < 50 || (c.L < 66 && c.C < 70) || (c.L < 80 && c.C < 30);
  if (c.h_deg < 78) return brown ? "brown" : "orange";
  if (c.L < 60) return c.h_deg < 95 ? "brown" : "green";
  return c.C < 30 && c.L < 80 ? "brown" : "yellow";
}

std::string termOf(const LCh& c) {
  const double neutral = c.L > 88 || c.L < 24 ? 10 : 8;
  if (c.C < neutral) return neutralTerm(c.L);
  if (c.h_deg < 42 || c.h_deg >= 335) return redTerm(c);
  if (c.h_deg < 106) return warmTerm(c);
  if (c.h_deg < 192) return "green";
  return c.h_deg < purpleFrom_deg(c.L) ? "blue" : "purple";
}

/// Lightness below which the term is "dark", above which it is "light", and the chroma from which
/// it is "vivid". Yellow is light by nature, brown dark.
struct Bounds {
  double dark_L, light_L, vivid_C;
};

Bounds boundsOf(const std::string& term) {
  if (term == "yellow") return {70, 101, 70};
  if (term == "orange") return {55, 80, 72};
  if (term == "pink") return {55, 86, 55};
  if (term == "brown") return {30, 55, 101};
  if (term == "grey") return {40, 68, 101};
  return {38, 70, 58};
}

}  // namespace

Lab labFromSrgb(const std::array<double, 3>& srgb) {
  const double r = linear(srgb[0]), g = linear(srgb[1]), b = linear(srgb[2]);
  // sRGB primaries to XYZ over the D65 white (IEC 61966-2-1).
  const double X = (0.4124564 * r + 0.3575761 * g + 0.1804375 * b) / 0.95047;
  const double Y = 0.2126729 * r + 0.7151522 * g + 0.0721750 * b;
  const double Z = (0.0193339 * r + 0.1191920 * g + 0.9503041 * b) / 1.08883;
  const double fx = labCurve(X), fy = labCurve(Y), fz = labCurve(Z);
  return {116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)};
}

Lab labFromHex(const std::string& hex) {
  const std::string digits = hex.starts_with('#') ? hex.substr(1) : hex;
  if (digits.size() != 6 || digits.find_first_not_of("0123456789abcdefABCDEF") != std::string::npos)
    throw BadInput("\"" + givenStart(hex, 40) +
                   "\" is not a colour: write six hex digits such as #be0032.");
  std::array<double, 3> srgb{};
  for (std::size_t i = 0; i < 3; ++i)
    srgb.at(i) = std::stoi(digits.substr(2 * i, 2), nullptr, 16) / 255.0;
  return labFromSrgb(srgb);
}

std::string colourName(const Lab& lab) {
  const double h = std::atan2(lab.b, lab.a) * 180 / std::numbers::pi;
  const LCh c{lab.L, std::hypot(lab.a, lab.b), h < 0 ? h + 360 : h};
  std::string term = termOf(c);
  if (term == "black" || term == "white") return term;
  const Bounds bounds = boundsOf(term);
  if (c.L < bounds.dark_L) return (c.C >= bounds.vivid_C ? "deep " : "dark ") + term;
  if (c.C >= bounds.vivid_C) return "vivid " + term;
  if (c.L > bounds.light_L) return (c.C < 22 && term != "grey" ? "pale " : "light ") + term;
  return term;
}

std::string basicTerm(const std::string& name) {
  const std::size_t space = name.rfind(' ');
  return space == std::string::npos ? name : name.substr(space + 1);
}

Colour colourFromSrgb(const std::array<double, 3>& srgb) {
  const Lab lab = labFromSrgb(srgb);
  Colour colour;
  colour.set_name(colourName(lab));
  colour.set_l(lab.L);
  colour.set_a(lab.a);
  colour.set_b(lab.b);
  return colour;
}

}  // namespace holdshelf
