// SPDX-License-Identifier: Apache-2.0
#include "mesh/overlay_plot.h"

#include <cairo.h>

#include <algorithm>
#include <cmath>

#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

using Eigen::Vector2d;

constexpr int kWidth = 760, kHeight = 560;
constexpr double kLeft = 70, kTop = 110, kRoomX = 470, kRoomY = 330;

/// Paper coordinates: both lines in the room that is left for them.
struct Frame {
  double scale = 1;
  Vector2d least;
  double high = 0;
  Vector2d operator()(const Vector2d& p) const {
    return {kLeft + (p.x() - least.x()) * scale, kTop + (high - p.y()) * scale};
  }
};

Frame frameOf(const OverlayPlot& overlay) {
  Vector2d least = overlay.wanted_mm.front(), most = least;
  for (const auto* line : {&overlay.wanted_mm, &overlay.found_mm})
    for (const Vector2d& p : *line) least = least.cwiseMin(p), most = most.cwiseMax(p);
  Frame frame;
  frame.scale = std::min({kRoomX / std::max(1.0, most.x() - least.x()),
                          kRoomY / std::max(1.0, most.y() - least.y()), 16.0});
  frame.least = least;
  frame.high = most.y();
  return frame;
}

void stroke(Pen& pen, const Frame& at, const std::vector<Vector2d>& line, double width,
            bool dashed) {
  std::vector<Vector2d> points;
  for (const Vector2d& p : line) points.push_back(at(p));
  const double dash[] = {7, 5};
  cairo_new_path(pen.raw());
  pen.path(points, false);
  cairo_set_dash(pen.raw(), dash, dashed ? 2 : 0, 0);
  cairo_set_line_width(pen.raw(), width);
  cairo_set_line_join(pen.raw(), CAIRO_LINE_JOIN_ROUND);
  cairo_stroke(pen.raw());
  cairo_set_dash(pen.raw(), dash, 0, 0);
}

void drawLegend(Pen& pen, const OverlayPlot& overlay) {
  const double y = kHeight - 74;
  pen.grey(0);
  pen.line({24, y - 4}, {74, y - 4}, 2.4);
  pen.text({84, y}, "found: " + overlay.found_words, 13);
  pen.grey(0.35);
  pen.line({24, y + 18}, {74, y + 18}, 2, true);
  pen.grey(0);
  pen.text({84, y + 22}, "wanted: " + overlay.wanted_words, 13);
}

/// The largest gap, between its two points, with its length beside it.
double drawLargestGap(Pen& pen, const Frame& at, const OverlayPlot& overlay) {
  std::size_t largest = 0;
  const auto gap = [&](std::size_t i) {
    return (overlay.wanted_mm[i] - overlay.found_mm[i]).norm();
  };
  for (std::size_t i = 1; i < overlay.found_mm.size(); ++i)
    if (gap(i) > gap(largest)) largest = i;
  const Vector2d a = at(overlay.wanted_mm[largest]), b = at(overlay.found_mm[largest]);
  const Vector2d middle = 0.5 * (a + b);
  // Within the hold, where nothing else is drawn: below the grip face, or beside the face.
  const bool on_face = middle.x() > kLeft + kRoomX / 2 && middle.y() > kTop + kRoomY / 3;
  const Vector2d label = middle + (on_face ? Vector2d(-210, 0) : Vector2d(30, 80));
  pen.grey(0);
  pen.line(a, b, 3);
  pen.grey(0.35);
  pen.arrow(label + (on_face ? Vector2d(150, -4) : Vector2d(10, -18)),
            middle + (on_face ? Vector2d(-4, 0) : Vector2d(1, 4)));
  pen.grey(0);
  pen.text(label, fixed(gap(largest), 2) + " mm apart here,", 13);
  pen.text(label + Vector2d(0, 18), "the most", 13);
  return gap(largest);
}

}  // namespace

Plot plotOverlay(const OverlayPlot& overlay) {
  if (overlay.wanted_mm.size() < 2 || overlay.wanted_mm.size() != overlay.found_mm.size())
    throw BadInput("Two lips can only be drawn over each other point beside point.");
  const Frame at = frameOf(overlay);
  double squares = 0;
  for (std::size_t i = 0; i < overlay.found_mm.size(); ++i)
    squares += (overlay.wanted_mm[i] - overlay.found_mm[i]).squaredNorm();
  const double gap = std::sqrt(squares / static_cast<double>(overlay.found_mm.size()));
  return drawPlot(kWidth, kHeight, [&](Pen& pen) {
    pen.text({24, 32}, overlay.caption, 17, 0, true);
    pen.text({24, 54},
             "laid on each other by shifting, nothing turned: " + fixed(gap, 2) +
                 " mm apart (root mean square)",
             13);
    pen.grey(0.35);
    stroke(pen, at, overlay.wanted_mm, 2, true);
    pen.grey(0);
    stroke(pen, at, overlay.found_mm, 2.4, false);
    drawLargestGap(pen, at, overlay);
    const Vector2d pull(kWidth - 60, kTop + 10);
    pen.arrow(pull, pull + Vector2d(0, 70), 2.5);
    pen.text(pull + Vector2d(0, -10), "pull", 13, 0.5);
    pen.text({24, kHeight - 22}, "The wall is to the left.", 12);
    pen.scaleBar({kWidth - 40, kHeight - 30}, at.scale, 10);
    drawLegend(pen, overlay);
  });
}

}  // namespace holdshelf
