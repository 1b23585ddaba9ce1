// SPDX-License-Identifier: Apache-2.0
#include "catalog/grip_rose.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdarg>
#include <cstdio>
#include <vector>

#include "catalog/grip_map.h"
#include "catalog/grip_words.h"
#include "mesh/bad_input.h"
#include "mesh/pen.h"

namespace holdshelf {
namespace {

constexpr double kRadian = 3.14159265358979323846 / 180;
constexpr double kCentre = 500, kInner = 118, kOuter = 440;

/// What one cell shows.
struct Cell {
  GripKind kind = GripKind::None;
  double fraction = 0;
};

using Cells = std::vector<std::vector<Cell>>;  // [wall angle][rotation]

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

std::string format(const char* pattern, ...) __attribute__((format(printf, 1, 2)));
std::string format(const char* pattern, ...) {
  char buffer[400];
  va_list values;
  va_start(values, pattern);
  std::vsnprintf(buffer, sizeof buffer, pattern, values);
  va_end(values);
  return buffer;
}

Cells cellsOf(const GripMap& map, const GripThresholds& t) {
  const char* other_version =
      "This grip map is of another version; measure the hold again to renew it.";
  if (!lookUp(map, {})) throw BadInput(other_version);
  Cells cells(static_cast<std::size_t>(map.wall_angles()));
  for (int w = 0; w < map.wall_angles(); ++w)
    for (int r = 0; r < map.rotations(); ++r) {
      const auto stored =
          lookUp(map, {r * 360.0 / map.rotations(),
                       map.first_wall_angle_deg() + w * map.wall_angle_step_deg(), 0});
      if (!stored) throw BadInput(other_version);
      const bool foot = stored->reach <= t.too_grabbable && stored->toe >= t.toe_fraction;
      cells[static_cast<std::size_t>(w)].push_back(foot ? Cell{GripKind::FootOnly, stored->toe}
                                                        : Cell{stored->kind, stored->hand});
    }
  return cells;
}

/// Turned counter-clockwise from the top, as the hold turns.
std::array<double, 2> at(double radius, double rotation_deg) {
  return {kCentre - radius * std::sin(rotation_deg * kRadian),
          kCentre - radius * std::cos(rotation_deg * kRadian)};
}

struct RoseColour {
  int red = 0, green = 0, blue = 0;
};

/// Part of a ring, as wide as a rotation's step.
struct Sector {
  double inner, outer, from_deg, to_deg;
};

struct Words {
  double x, y, size;
  double anchor;  ///< 0 begins at x, 0.5 is centred there.
  bool bold = false;
  double halo = 0;  ///< Width of a white border, px.
};

/// What the rose is painted on.
class Canvas {
 public:
  virtual ~Canvas() = default;
  virtual void sector(const Sector& sector, const RoseColour& colour) = 0;
  virtual void square(double x, double y, double size, const RoseColour& colour) = 0;
  virtual void text(const Words& at, const std::string& words) = 0;
};

class SvgCanvas : public Canvas {
 public:
  void sector(const Sector& s, const RoseColour& colour) override {
    const auto a = at(s.inner, s.from_deg), b = at(s.outer, s.from_deg), c = at(s.outer, s.to_deg),
               d = at(s.inner, s.to_deg);
    svg_ += format(
        "<path d=\"M%.1f %.1fL%.1f %.1fA%.1f %.1f 0 0 0 %.1f %.1fL%.1f %.1fA%.1f %.1f 0 0 1 %.1f "
        "%.1f\" fill=\"#%02x%02x%02x\" stroke=\"#fff\" stroke-width=\".4\"/>\n",
        a[0], a[1], b[0], b[1], s.outer, s.outer, c[0], c[1], d[0], d[1], s.inner, s.inner, a[0],
        a[1], colour.red, colour.green, colour.blue);
  }

  void square(double x, double y, double size, const RoseColour& colour) override {
    svg_ += format(
        "<rect x=\"%.0f\" y=\"%.0f\" width=\"%.0f\" height=\"%.0f\" "
        "fill=\"#%02x%02x%02x\"/>\n",
        x, y, size, size, colour.red, colour.green, colour.blue);
  }

  void text(const Words& at, const std::string& words) override {
    std::string safe;
    for (char c : words) safe += c == '<' ? "&lt;" : c == '&' ? "&amp;" : std::string(1, c);
    svg_ +=
        format("<text x=\"%.1f\" y=\"%.1f\" font-size=\"%.0f\" text-anchor=\"%s\"%s", at.x, at.y,
               at.size, at.anchor > 0 ? "middle" : "start", at.bold ? " font-weight=\"bold\"" : "");
    if (at.halo > 0)
      svg_ += format(" stroke=\"#fff\" stroke-width=\"%.0f\" paint-order=\"stroke\"", at.halo);
    svg_ += ">" + safe + "</text>\n";
  }

  std::string picture() const {
    return "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"1000\" height=\"1060\" "
           "viewBox=\"0 0 1000 1060\" font-family=\"sans-serif\">\n"
           "<rect width=\"1000\" height=\"1060\" fill=\"#fff\"/>\n" +
           svg_ + "</svg>\n";
  }

 private:
  std::string svg_;
};

class PenCanvas : public Canvas {
 public:
  explicit PenCanvas(Pen& pen) : pen_(pen) {}

  void sector(const Sector& s, const RoseColour& colour) override {
    std::vector<Eigen::Vector2d> outline;
    constexpr int kPieces = 4;  // Of an arc of 5 degrees: straight to 0.1 px.
    const auto point = [&](double radius, int piece) {
      const auto spot = at(radius, s.from_deg + (s.to_deg - s.from_deg) * piece / kPieces);
      outline.emplace_back(spot[0], spot[1]);
    };
    for (int i = 0; i <= kPieces; ++i) point(s.outer - 0.2, i);
    for (int i = kPieces; i >= 0; --i) point(s.inner + 0.2, i);
    pen_.path(outline, true);
    fill(colour);
  }

  void square(double x, double y, double size, const RoseColour& colour) override {
    pen_.path({{x, y}, {x + size, y}, {x + size, y + size}, {x, y + size}}, true);
    fill(colour);
  }

  void text(const Words& at, const std::string& words) override {
    pen_.text({at.x, at.y}, words, at.size, at.anchor, at.bold);  // With a border of its own.
  }

 private:
  void fill(const RoseColour& c) { pen_.fill(c.red / 255.0, c.green / 255.0, c.blue / 255.0); }

  Pen& pen_;
};

/// Cells of one word that touch, rotation wrapping around.
struct Area {
  GripKind kind;
  double strongest = 0;
  std::vector<std::array<int, 2>> cells;  // Wall angle, rotation.
};

std::vector<Area> areasOf(const Cells& cells) {
  const int rings = static_cast<int>(cells.size()), turns = static_cast<int>(cells[0].size());
  std::vector<std::vector<bool>> seen(cells.size(), std::vector<bool>(cells[0].size(), false));
  std::vector<Area> areas;
  const auto cell = [&](int w, int r) -> const Cell& {
    return cells[static_cast<std::size_t>(w)][static_cast<std::size_t>(r)];
  };
  for (int w = 0; w < rings; ++w)
    for (int r = 0; r < turns; ++r) {
      const GripKind kind = cell(w, r).kind;
      if (kind == GripKind::None) continue;
      std::vector<std::array<int, 2>> open{{w, r}};
      Area area{kind, 0, {}};
      while (!open.empty()) {
        const auto [v, s] = open.back();
        open.pop_back();
        if (v < 0 || v >= rings || cell(v, s).kind != kind) continue;
        auto mark = seen[static_cast<std::size_t>(v)].begin() + s;
        if (*mark) continue;
        *mark = true;
        area.cells.push_back({v, s});
        area.strongest = std::max(area.strongest, cell(v, s).fraction);
        for (const auto& next :
             {std::array{v + 1, s}, std::array{v - 1, s}, std::array{v, (s + 1) % turns},
              std::array{v, (s + turns - 1) % turns}})
          open.push_back(next);
      }
      if (!area.cells.empty()) areas.push_back(std::move(area));
    }
  return areas;
}

class RosePainter {
 public:
  static constexpr double kLabelSize = 15;  // Of the words on the areas, px.

  RosePainter(const GripMap& map, const Cells& cells, Canvas& canvas)
      : map_(map), cells_(cells), canvas_(canvas), ring_((kOuter - kInner) / map.wall_angles()) {}

  void paint(const std::string& title) {
    canvas_.text({20, 34, 20, 0, true}, title);
    for (int w = 0; w < map_.wall_angles(); ++w)
      for (int r = 0; r < map_.rotations(); ++r) paintCell(w, r);
    auto areas = areasOf(cells_);
    std::stable_sort(areas.begin(), areas.end(),
                     [](const Area& a, const Area& b) { return a.cells.size() > b.cells.size(); });
    for (const Area& area : areas) paintLabel(area);
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
    const Cell& cell = cells_[static_cast<std::size_t>(w)][static_cast<std::size_t>(r)];
    const double inner = kInner + w * ring_, turn = r * step();
    const Look* look = lookOf(cell.kind);
    canvas_.sector(
        {inner, inner + ring_, turn - step() / 2, turn + step() / 2},
        look ? shade(*look, 0.15 + 0.6 * std::min(1.0, cell.fraction)) : RoseColour{247, 247, 247});
    if (!look) return;
    const auto middle = at(inner + ring_ / 2, turn);
    canvas_.text({middle[0], middle[1] + 2.6, 7, 0.5}, look->letter);
  }

  /// Word and force at the area's cell that lies deepest inside it and leaves earlier words free.
  void paintLabel(const Area& area) {
    if (area.cells.size() < 24) return;
    const std::string words = std::string(wordOf(area.kind)) + format(" %.2f", area.strongest);
    const double half_width = 0.31 * kLabelSize * static_cast<double>(words.size());
    double deepest = 0;
    std::array<double, 2> best{};
    for (const auto& cell : area.cells) {
      const auto spot = at(kInner + (cell[0] + 0.5) * ring_, cell[1] * step());
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
      const auto spot = at(kOuter + 22, turn);
      canvas_.text({spot[0], spot[1] + 5, 14, 0.5}, format("%d°", turn));
    }
    for (int w = 0; w < map_.wall_angles(); w += 4) {
      const double angle = map_.first_wall_angle_deg() + w * map_.wall_angle_step_deg();
      const auto spot = at(kInner + (w + 0.5) * ring_, 0);
      canvas_.text({spot[0], spot[1] + 4, 11, 0.5, true, 3},
                   format(angle == 0 ? "%.0f°" : "%+.0f°", angle));
    }
    const char* lines[] = {"around: rotation,",      "counter-clockwise;",
                           "outwards: wall angle,",  "slab −20° to overhang +60°;",
                           "pulled straight down;",  "numbers: share of a jug,",
                           "for feet of a deep edge"};
    double y = kCentre - 46;
    for (const char* line : lines) canvas_.text({kCentre, y += 16, 12, 0.5}, line);
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
  const Cells& cells_;
  Canvas& canvas_;
  double ring_;
  std::vector<std::array<double, 3>> labels_;  ///< Centre and half width of each word painted.
};

}  // namespace

std::string gripRoseSvg(const GripMap& map, const std::string& title, const GripThresholds& t) {
  const Cells cells = cellsOf(map, t);
  SvgCanvas canvas;
  RosePainter(map, cells, canvas).paint(title);
  return canvas.picture();
}

std::string gripRosePng(const GripMap& map, const std::string& title, const GripThresholds& t) {
  const Cells cells = cellsOf(map, t);
  return drawPlot(1000, 1060,
                  [&](Pen& pen) {
                    PenCanvas canvas(pen);
                    RosePainter(map, cells, canvas).paint(title);
                  })
      .png;
}

}  // namespace holdshelf
