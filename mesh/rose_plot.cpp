// SPDX-License-Identifier: Apache-2.0
#include "mesh/rose_plot.h"

#include <cairo.h>

#include <algorithm>
#include <cmath>

namespace holdshelf {
namespace {

using Eigen::Vector2d;

struct RoseSpec {
  std::string title, unit;
  std::function<double(const Grip&)> value;
  double low, high, ring;
};

void drawRose(Pen& pen, const Shape& shape, const RoseSpec& spec, const Vector2d& centre,
              double radius) {
  const auto place = [&](double deg, double value) {
    const double share = std::clamp((value - spec.low) / (spec.high - spec.low), 0.0, 1.0);
    const double angle = (90 + deg) * M_PI / 180;  // 0 at the top, counter-clockwise.
    return Vector2d(centre + radius * share * Vector2d(std::cos(angle), -std::sin(angle)));
  };
  pen.text({centre.x(), centre.y() - radius - 42}, spec.title, 15, 0.5, true);
  // Bars as wide as a step: a gap is a rotation with nothing to hold.
  const double step = shape.sections_size() > 0 ? 360.0 / shape.sections_size() : 5;
  for (const Grip& g : shape.grips()) {
    const double value = spec.value(g);
    if (!std::isfinite(value)) continue;
    const Vector2d floor_a = place(g.rotation_deg() - step / 2, spec.low),
                   a = place(g.rotation_deg() - step / 2, value),
                   b = place(g.rotation_deg() + step / 2, value);
    pen.path({floor_a, a, b}, true);
    cairo_set_source_rgb(pen.raw(), 0.62, 0.70, 0.78);
    cairo_fill_preserve(pen.raw());
    pen.grey(0.2);
    cairo_set_line_width(pen.raw(), 0.8);
    cairo_stroke(pen.raw());
  }
  pen.grey(0.55);
  for (double v = spec.low + spec.ring; v <= spec.high + 1e-9; v += spec.ring)
    pen.circle(centre, radius * (v - spec.low) / (spec.high - spec.low), 0.6);
  if (spec.low < 0) {
    pen.grey(0);
    pen.circle(centre, radius * (0 - spec.low) / (spec.high - spec.low), 1.4);
  }
  pen.grey(0);
  for (double v = spec.low + spec.ring; v <= spec.high + 1e-9; v += spec.ring) {
    const double at = radius * (v - spec.low) / (spec.high - spec.low);
    pen.text(centre + Vector2d(3, -at + 4), fixed(v, 0) + spec.unit, 10);
  }
  for (int deg = 0; deg < 360; deg += 45) {
    const double angle = (90 + deg) * M_PI / 180;
    const Vector2d way(std::cos(angle), -std::sin(angle));
    pen.line(centre + radius * way, centre + (radius + 5) * way, 1);
    pen.text(centre + (radius + 18) * way + Vector2d(0, 4), std::to_string(deg) + "°", 11, 0.5);
  }
}

double ringStep(double range) {
  for (double step : {1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0})
    if (range / step <= 5) return step;
  return 200;
}

}  // namespace

Plot plotRose(const Shape& shape) {
  double depth = 5, radius = 2, low = -10, high = 10;
  for (const Grip& g : shape.grips()) {
    depth = std::max(depth, g.edge_depth_mm().value());
    radius = std::max(radius, std::min(40.0, g.lip_radius_mm().value()));
    low = std::min(low, std::max(-60.0, g.incut_deg().value()));
    high = std::max(high, std::min(60.0, g.incut_deg().value()));
  }
  const auto spec = [](std::string title, std::string unit, double from, double to,
                       std::function<double(const Grip&)> value) {
    const double coarse = ringStep(to - from);
    RoseSpec rose{std::move(title), std::move(unit), std::move(value), 0, 0, coarse};
    rose.low = std::floor(from / coarse) * coarse;
    rose.high = std::ceil(to / coarse) * coarse;
    rose.ring = ringStep(rose.high - rose.low);
    return rose;
  };
  const RoseSpec roses[] = {
      spec("Edge depth, mm", "", 0, depth, [](const Grip& g) { return g.edge_depth_mm().value(); }),
      spec("Incut, degrees (thick ring: 0)", "°", low, high,
           [](const Grip& g) { return g.incut_deg().value(); }),
      spec("Lip radius, mm (40: or more)", "", 0, radius,
           [](const Grip& g) { return std::min(40.0, g.lip_radius_mm().value()); })};
  return drawPlot(1140, 470, [&](Pen& pen) {
    pen.text({24, 30}, "What a downward pull finds, by rotation of the hold", 17, 0, true);
    for (int i = 0; i < 3; ++i) drawRose(pen, shape, roses[i], {200.0 + 370 * i, 265}, 140);
    pen.text({24, 455},
             "Angle: the hold turned counter-clockwise as the climber sees it, 0° as stored. A "
             "gap: nothing to hold there.",
             12);
  });
}

}  // namespace holdshelf
