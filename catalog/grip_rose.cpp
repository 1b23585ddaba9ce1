// SPDX-License-Identifier: Apache-2.0
#include "catalog/grip_rose.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "catalog/grip_areas.h"
#include "catalog/grip_words.h"
#include "catalog/rose_canvas.h"
#include "mesh/pen.h"

namespace holdshelf {
namespace {

constexpr double kInner = 118, kOuter = 440;  // Radii of the rings, px.

struct Look {
  GripKind kind;
  const char* letter;
  int red, green, blue;  // Of a full force; weaker ones are lighter.
};

constexpr Look kLooks[] = {
    {GripKind::Jug, "J", 38, 110, 84},       {GripKind::Edge, "E", 45, 96, 150},
    {GripKind::Crimp, "C", 130, 70, 150},    {GripKind::Pocket, "O", 160, 90, 40},
    {GripKind::Sloper, "S", 176, 120, 20},   {GripKind::Pinch, "P", 170, 60, 90},
    {GripKind::FootOnly, "f", 110, 110, 110}};

const Look* lookOf(GripKind kind) {
  for (const Look& look : kLooks)
    if (look.kind == kind) return &look;
  return nullptr;
}

class RosePainter {
 public:
  static constexpr double kLabelSize = 15;  // Of the words on the areas, px.

  RosePainter(const GripMap& map, const WordCells& cells, RoseCanvas& canvas)
      : map_(map), cells_(cells), canvas_(canvas), ring_((kOuter - kInner) / map.wall_angles()) {}

  void paint(const std::string& title) {
    canvas_.text({20, 34, 20, 0, true}, title);
    for (int w = 0; w < map_.wall_angles(); ++w)
      for (int r = 0; r < map_.rotations(); ++r) paintCell(w, r);
    auto areas = gripAreas(cells_);
    std::stable_sort(areas.begin(), areas.end(), [](const GripArea& a, const GripArea& b) {
      return a.cells.size() > b.cells.size();
    });
    for (const GripArea& area : areas) paintLabel(area);
    paintScales();
    paintLegend();
  }

 private:
  double step() const { return 360.0 / map_.rotations(); }

  /// Of a force; the stronger, the darker.
  static RoseColour shade(const Look& look, double depth) {
    const auto mix = [&](int part) { return static_cast<int>(255 + (part - 255) * depth); };
    return {mix(look.red), mix(look.green), mix(look.blue)};
  }

  void paintCell(int w, int r) {
    const WordCell& cell = cells_[static_cast<std::size_t>(w)][static_cast<std::size_t>(r)];
    const double inner = kInner + w * ring_, turn = r * step();
    const Look* look = lookOf(cell.kind);
    canvas_.sector(
        {inner, inner + ring_, turn - step() / 2, turn + step() / 2},
        look ? shade(*look, 0.15 + 0.6 * std::min(1.0, cell.fraction)) : RoseColour{247, 247, 247});
    if (!look) return;
    const auto middle = roseSpot(inner + ring_ / 2, turn);
    canvas_.text({middle[0], middle[1] + 2.6, 7, 0.5}, look->letter);
  }

  /// Word and force at the area's cell that lies deepest inside it and leaves earlier words free.
  void paintLabel(const GripArea& area) {
    if (area.cells.size() < 24) return;
    const std::string words = std::string(wordOf(area.kind)) + " " + fixed(area.strongest, 2);
    const double half_width = 0.31 * kLabelSize * static_cast<double>(words.size());
    double deepest = 0;
    std::array<double, 2> best{};
    for (const auto& cell : area.cells) {
      const auto spot = roseSpot(kInner + (cell[0] + 0.5) * ring_, cell[1] * step());
      const double depth = depthInside(cell, area.kind);
      if (depth > deepest && isFree(spot, half_width)) deepest = depth, best = spot;
    }
    if (!(deepest > 0)) return;
    labels_.push_back({best[0], best[1], half_width});
    canvas_.text({best[0], best[1] + 5, kLabelSize, 0.5, true, 4}, words);
  }

  bool isFree(const std::array<double, 2>& spot, double half_width) const {
    for (const auto& [x, y, taken] : labels_)
      if (std::abs(spot[0] - x) < half_width + taken && std::abs(spot[1] - y) < 1.2 * kLabelSize)
        return false;
    return true;
  }

  /// Distance to the nearest cell of another word, in cells, up to 6.
  double depthInside(const std::array<int, 2>& cell, GripKind kind) const {
    double nearest = 6;
    for (int dw = -6; dw <= 6; ++dw)
      for (int dr = -12; dr <= 12; ++dr) {
        const int v = cell[0] + dw, s = (cell[1] + dr + map_.rotations()) % map_.rotations();
        const bool inside =
            v >= 0 && v < map_.wall_angles() &&
            cells_[static_cast<std::size_t>(v)][static_cast<std::size_t>(s)].kind == kind;
        if (!inside) nearest = std::min(nearest, std::hypot(dw, dr / 2.0));
      }
    return nearest;
  }

  void paintScales() {
    for (int turn = 0; turn < 360; turn += 30) {
      const auto spot = roseSpot(kOuter + 22, turn);
      canvas_.text({spot[0], spot[1] + 5, 14, 0.5}, std::to_string(turn) + "°");
    }
    for (int w = 0; w < map_.wall_angles(); w += 4) {
      const double angle = map_.first_wall_angle_deg() + w * map_.wall_angle_step_deg();
      const auto spot = roseSpot(kInner + (w + 0.5) * ring_, 0);
      canvas_.text({spot[0], spot[1] + 4, 11, 0.5, true, 3},
                   (angle > 0 ? "+" : "") + fixed(angle, 0) + "°");
    }
    const char* lines[] = {"around: rotation,",      "counter-clockwise;",
                           "outwards: wall angle,",  "slab −20° to overhang +60°;",
                           "pulled straight down;",  "numbers: share of a jug,",
                           "for feet of a deep edge"};
    double y = kRoseCentre_px - 46;
    for (const char* line : lines) canvas_.text({kRoseCentre_px, y += 16, 12, 0.5}, line);
  }

  void paintLegend() {
    double x = 40;
    for (const Look& look : kLooks) {
      canvas_.square(x, 992, 20, shade(look, 0.6));
      canvas_.text({x + 10, 1007, 13, 0.5, true}, look.letter);
      canvas_.text({x + 26, 1007, 14, 0}, std::string(wordOf(look.kind)));
      x += look.kind == GripKind::Pocket || look.kind == GripKind::Sloper ? 132 : 125;
    }
    canvas_.text({500, 1044, 13, 0.5}, gripCaution());
  }

  const GripMap& map_;
  const WordCells& cells_;
  RoseCanvas& canvas_;
  double ring_;
  std::vector<std::array<double, 3>> labels_;  ///< Centre and half width of each word painted.
};

}  // namespace

std::string gripRoseSvg(const GripMap& map, const std::string& title, const GripThresholds& t) {
  const WordCells cells = wordCells(map, t);
  SvgRoseCanvas canvas;
  RosePainter(map, cells, canvas).paint(title);
  return canvas.picture();
}

std::string gripRosePng(const GripMap& map, const std::string& title, const GripThresholds& t) {
  const WordCells cells = wordCells(map, t);
  return drawPlot(1000, 1060,
                  [&](Pen& pen) {
                    PenRoseCanvas canvas(pen);
                    RosePainter(map, cells, canvas).paint(title);
                  })
      .png;
}

}  // namespace holdshelf
