// SPDX-License-Identifier: Apache-2.0
#include "catalog/colour_difference.h"

#include <cmath>
#include <numbers>

namespace holdshelf {
namespace {

constexpr double kDegree = std::numbers::pi / 180;
constexpr double k25to7 = 6103515625.0;

/// Hue angle in [0, 360) degrees; 0 for a grey.
double hue_deg(double a, double b) {
  if (a == 0 && b == 0) return 0;
  const double h = std::atan2(b, a) / kDegree;
  return h < 0 ? h + 360 : h;
}

double chromaWeight(double chroma) {
  const double c7 = std::pow(chroma, 7);
  return std::sqrt(c7 / (c7 + k25to7));
}

/// Mean of two hues the short way round; their sum where a grey has none.
double meanHue_deg(double h1, double h2, bool grey) {
  if (grey) return h1 + h2;
  if (std::abs(h1 - h2) <= 180) return (h1 + h2) / 2;
  return h1 + h2 < 360 ? (h1 + h2 + 360) / 2 : (h1 + h2 - 360) / 2;
}

}  // namespace

double colourDifference(const Lab& x, const Lab& y) {
  const double meanC = (std::hypot(x.a, x.b) + std::hypot(y.a, y.b)) / 2;
  const double stretch = 1.5 - 0.5 * chromaWeight(meanC);
  const double a1 = stretch * x.a, a2 = stretch * y.a;
  const double C1 = std::hypot(a1, x.b), C2 = std::hypot(a2, y.b);
  const double h1 = hue_deg(a1, x.b), h2 = hue_deg(a2, y.b);
  const bool grey = C1 * C2 == 0;

  double dh = grey ? 0 : h2 - h1;
  if (dh > 180) dh -= 360;
  if (dh < -180) dh += 360;
  const double dL = y.L - x.L, dC = C2 - C1;
  const double dH = 2 * std::sqrt(C1 * C2) * std::sin(dh / 2 * kDegree);

  const double L = (x.L + y.L) / 2, C = (C1 + C2) / 2;
  const double h = meanHue_deg(h1, h2, grey);
  const double T = 1 - 0.17 * std::cos((h - 30) * kDegree) + 0.24 * std::cos(2 * h * kDegree) +
                   0.32 * std::cos((3 * h + 6) * kDegree) - 0.20 * std::cos((4 * h - 63) * kDegree);
  const double away = (h - 275) / 25;
  const double turn_deg = 30 * std::exp(-away * away);
  const double L50 = (L - 50) * (L - 50);
  const double SL = 1 + 0.015 * L50 / std::sqrt(20 + L50);
  const double SC = 1 + 0.045 * C;
  const double SH = 1 + 0.015 * C * T;
  const double RT = -std::sin(2 * turn_deg * kDegree) * 2 * chromaWeight(C);

  const double l = dL / SL, c = dC / SC, hh = dH / SH;
  return std::sqrt(l * l + c * c + hh * hh + RT * c * hh);
}

}  // namespace holdshelf
