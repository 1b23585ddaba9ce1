// SPDX-License-Identifier: Apache-2.0
#include "mesh/cut_plot.h"

#include <cairo.h>

#include <Eigen/Geometry>
#include <algorithm>

namespace holdshelf {
namespace {

using Eigen::Vector2d;

constexpr int kWidth = 860, kHeight = 640;

/// From the cut's own coordinates to the paper's.
struct CutFrame {
  Eigen::AlignedBox2d box;
  double scale = 1;

  explicit CutFrame(const PlaneCut& cut) {
    for (const CutLine& line : cut.lines())
      for (const Point2& p : line.points_mm()) box.extend(Vector2d(p.x(), p.y()));
    if (box.isEmpty()) box.extend(Vector2d(0, 0));
    scale = std::min((kWidth - 280) / std::max(5.0, box.sizes().x()),
                     (kHeight - 240) / std::max(5.0, box.sizes().y()));
  }
  Vector2d operator()(double x, double y) const {
    const Vector2d off = (Vector2d(x, y) - box.center()) * scale;
    return {kWidth / 2.0 - 40 + off.x(), kHeight / 2.0 + 10 - off.y()};
  }
};

void drawLines(Pen& pen, const CutFrame& at, const PlaneCut& cut, bool fill) {
  for (const CutLine& line : cut.lines()) {
    if (fill && !line.closed()) continue;
    std::vector<Vector2d> points;
    for (const Point2& p : line.points_mm()) points.push_back(at(p.x(), p.y()));
    pen.path(points, line.closed());
  }
  pen.grey(fill ? 0.86 : 0.1);
  cairo_set_line_width(pen.raw(), 1.6);
  cairo_set_fill_rule(pen.raw(), CAIRO_FILL_RULE_EVEN_ODD);
  (fill ? cairo_fill : cairo_stroke)(pen.raw());
  pen.grey(0);
}

}  // namespace

Plot plotCut(const PlaneCut& cut) {
  const CutFrame at(cut);
  int open = 0;
  for (const CutLine& line : cut.lines()) open += !line.closed();
  return drawPlot(kWidth, kHeight, [&](Pen& pen) {
    pen.text({24, 32}, "Cut by a plane", 17, 0, true);
    pen.text({24, 52},
             "normal (" + fixed(cut.normal_x(), 3) + ", " + fixed(cut.normal_y(), 3) + ", " +
                 fixed(cut.normal_z(), 3) + "), " + fixed(cut.offset_mm(), 1) +
                 " mm along it from the origin (x to the climber's right, y up, z off the wall)",
             12);
    drawLines(pen, at, cut, true);
    drawLines(pen, at, cut, false);
    const Vector2d low = at.box.min(), high = at.box.max();
    const Vector2d below(0, 26), beside(26, 0);
    pen.dimension(at(low.x(), low.y()) + below, at(high.x(), low.y()) + below,
                  fixed(at.box.sizes().x(), 1) + " mm");
    pen.dimension(at(high.x(), low.y()) + beside, at(high.x(), high.y()) + beside,
                  fixed(at.box.sizes().y(), 1) + " mm");
    pen.scaleBar({kWidth - 60, kHeight - 60}, at.scale, 20);
    pen.text({24, kHeight - 44},
             "area " + fixed(cut.area_mm2() / 100, 2) + " cm², outline " +
                 fixed(cut.length_mm(), 1) + " mm" +
                 (open > 0 ? "; " + std::to_string(open) + " open, where the mesh has a border"
                           : std::string()),
             13);
  });
}

}  // namespace holdshelf
