// SPDX-License-Identifier: Apache-2.0
#include "catalog/rose_canvas.h"

#include <cmath>
#include <cstdarg>
#include <cstdio>
#include <vector>

namespace holdshelf {
namespace {

constexpr double kRadian = 3.14159265358979323846 / 180;

std::string format(const char* pattern, ...) __attribute__((format(printf, 1, 2)));
std::string format(const char* pattern, ...) {
  char buffer[400];
  va_list values;
  va_start(values, pattern);
  std::vsnprintf(buffer, sizeof buffer, pattern, values);
  va_end(values);
  return buffer;
}

}  // namespace

std::array<double, 2> roseSpot(double radius_px, double rotation_deg) {
  return {kRoseCentre_px - radius_px * std::sin(rotation_deg * kRadian),
          kRoseCentre_px - radius_px * std::cos(rotation_deg * kRadian)};
}

void SvgRoseCanvas::sector(const RoseSector& s, const RoseColour& colour) {
  const auto a = roseSpot(s.inner_px, s.from_deg), b = roseSpot(s.outer_px, s.from_deg),
             c = roseSpot(s.outer_px, s.to_deg), d = roseSpot(s.inner_px, s.to_deg);
  svg_ += format(
      "<path d=\"M%.1f %.1fL%.1f %.1fA%.1f %.1f 0 0 0 %.1f %.1fL%.1f %.1fA%.1f %.1f 0 0 1 %.1f "
      "%.1f\" fill=\"#%02x%02x%02x\" stroke=\"#fff\" stroke-width=\".4\"/>\n",
      a[0], a[1], b[0], b[1], s.outer_px, s.outer_px, c[0], c[1], d[0], d[1], s.inner_px,
      s.inner_px, a[0], a[1], colour.red, colour.green, colour.blue);
}

void SvgRoseCanvas::square(double x, double y, double size, const RoseColour& colour) {
  svg_ += format(
      "<rect x=\"%.0f\" y=\"%.0f\" width=\"%.0f\" height=\"%.0f\" "
      "fill=\"#%02x%02x%02x\"/>\n",
      x, y, size, size, colour.red, colour.green, colour.blue);
}

void SvgRoseCanvas::text(const RoseWords& at, const std::string& words) {
  std::string safe;
  for (char c : words) safe += c == '<' ? "&lt;" : c == '&' ? "&amp;" : std::string(1, c);
  svg_ +=
      format("<text x=\"%.1f\" y=\"%.1f\" font-size=\"%.0f\" text-anchor=\"%s\"%s", at.x, at.y,
             at.size, at.anchor > 0 ? "middle" : "start", at.bold ? " font-weight=\"bold\"" : "");
  if (at.halo > 0)
    svg_ += format(" stroke=\"#fff\" stroke-width=\"%.0f\" paint-order=\"stroke\"", at.halo);
  svg_ += ">" + safe + "</text>\n";
}

std::string SvgRoseCanvas::picture() const {
  return "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"1000\" height=\"1060\" "
         "viewBox=\"0 0 1000 1060\" font-family=\"sans-serif\">\n"
         "<rect width=\"1000\" height=\"1060\" fill=\"#fff\"/>\n" +
         svg_ + "</svg>\n";
}

void PenRoseCanvas::sector(const RoseSector& s, const RoseColour& colour) {
  std::vector<Eigen::Vector2d> outline;
  constexpr int kPieces = 4;  // Of an arc of 5 degrees: straight to 0.1 px.
  const auto point = [&](double radius, int piece) {
    const auto spot = roseSpot(radius, s.from_deg + (s.to_deg - s.from_deg) * piece / kPieces);
    outline.emplace_back(spot[0], spot[1]);
  };
  for (int i = 0; i <= kPieces; ++i) point(s.outer_px - 0.2, i);
  for (int i = kPieces; i >= 0; --i) point(s.inner_px + 0.2, i);
  pen_.path(outline, true);
  fill(colour);
}

void PenRoseCanvas::square(double x, double y, double size, const RoseColour& colour) {
  pen_.path({{x, y}, {x + size, y}, {x + size, y + size}, {x, y + size}}, true);
  fill(colour);
}

void PenRoseCanvas::text(const RoseWords& at, const std::string& words) {
  pen_.text({at.x, at.y}, words, at.size, at.anchor, at.bold);  // With a border of its own.
}

void PenRoseCanvas::fill(const RoseColour& c) {
  pen_.fill(c.red / 255.0, c.green / 255.0, c.blue / 255.0);
}

}  // namespace holdshelf
