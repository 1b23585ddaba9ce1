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
  Cells cells(static_cast<std::size_t>(map.wall_angles()));
  for (int w = 0; w < map.wall_angles(); ++w)
    for (int r = 0; r < map.rotations(); ++r) {
      const auto stored =
          lookUp(map, {r * 360.0 / map.rotations(),
                       map.first_wall_angle_deg() + w * map.wall_angle_step_deg(), 0});
      if (!stored)
        throw BadInput("This grip map is of another version; measure the hold again to renew it.");
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

std::string cellPath(double inner, double outer, double from_deg, double to_deg) {
  const auto a = at(inner, from_deg), b = at(outer, from_deg), c = at(outer, to_deg),
             d = at(inner, to_deg);
  return format(
      "M%.1f %.1fL%.1f %.1fA%.1f %.1f 0 0 0 %.1f %.1fL%.1f %.1fA%.1f %.1f 0 0 1 %.1f %.1f", a[0],
      a[1], b[0], b[1], outer, outer, c[0], c[1], d[0], d[1], inner, inner, a[0], a[1]);
}

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
  RosePainter(const GripMap& map, const Cells& cells)
      : map_(map), cells_(cells), ring_((kOuter - kInner) / map.wall_angles()) {}

  std::string paint(const std::string& title) {
    svg_ =
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"1000\" height=\"1060\" "
        "viewBox=\"0 0 1000 1060\" font-family=\"sans-serif\">\n"
        "<rect width=\"1000\" height=\"1060\" fill=\"#fff\"/>\n";
    text(20, 34, 20, "start", title, "bold");
    for (int w = 0; w < map_.wall_angles(); ++w)
      for (int r = 0; r < map_.rotations(); ++r) paintCell(w, r);
    for (const Area& area : areasOf(cells_)) paintLabel(area);
    paintScales();
    paintLegend();
    return svg_ + "</svg>\n";
  }

 private:
  double step() const { return 360.0 / map_.rotations(); }

  void text(double x, double y, double size, const char* anchor, const std::string& words,
            const char* weight = "normal", const char* extra = "") {
    std::string safe;
    for (char c : words) safe += c == '<' ? "&lt;" : c == '&' ? "&amp;" : std::string(1, c);
    svg_ += format(
                "<text x=\"%.1f\" y=\"%.1f\" font-size=\"%.0f\" text-anchor=\"%s\" "
                "font-weight=\"%s\" %s>",
                x, y, size, anchor, weight, extra) +
            safe + "</text>\n";
  }

  void paintCell(int w, int r) {
    const Cell& cell = cells_[static_cast<std::size_t>(w)][static_cast<std::size_t>(r)];
    const double inner = kInner + w * ring_, turn = r * step();
    const Look* look = lookOf(cell.kind);
    const double depth = look ? 0.15 + 0.6 * std::min(1.0, cell.fraction) : 0;
    const auto mix = [&](int part) { return static_cast<int>(255 + (part - 255) * depth); };
    svg_ += "<path d=\"" + cellPath(inner, inner + ring_, turn - step() / 2, turn + step() / 2) +
            (look ? format("\" fill=\"#%02x%02x%02x\" stroke=\"#fff\" stroke-width=\".4\"/>\n",
                           mix(look->red), mix(look->green), mix(look->blue))
                  : "\" fill=\"#f7f7f7\" stroke=\"#fff\" stroke-width=\".4\"/>\n");
    if (!look) return;
    const auto middle = at(inner + ring_ / 2, turn);
    text(middle[0], middle[1] + 2.6, 7, "middle", look->letter, "normal", "fill=\"#222\"");
  }

  /// Word and force at the area's cell that lies deepest inside it.
  void paintLabel(const Area& area) {
    if (area.cells.size() < 24) return;
    const auto label = labelCell(area);
    const auto spot = at(kInner + (label[0] + 0.5) * ring_, label[1] * step());
    const std::string words = std::string(wordOf(area.kind)) + format(" %.2f", area.strongest);
    const char* halo = "fill=\"#000\" stroke=\"#fff\" stroke-width=\"4\" paint-order=\"stroke\"";
    text(spot[0], spot[1] + 5, 15, "middle", words, "bold", halo);
  }

  std::array<int, 2> labelCell(const Area& area) const {
    std::array<int, 2> best = area.cells.front();
    double deepest = -1;
    for (const auto& [w, r] : area.cells) {
      // Distance to the nearest cell of another word, in cells, up to 6.
      double nearest = 6;
      for (int dw = -6; dw <= 6; ++dw)
        for (int dr = -12; dr <= 12; ++dr) {
          const int v = w + dw, s = (r + dr + map_.rotations()) % map_.rotations();
          const bool inside =
              v >= 0 && v < map_.wall_angles() &&
              cells_[static_cast<std::size_t>(v)][static_cast<std::size_t>(s)].kind == area.kind;
          if (!inside) nearest = std::min(nearest, std::hypot(dw, dr / 2.0));
        }
      if (nearest > deepest) deepest = nearest, best = {w, r};
    }
    return best;
  }

  void paintScales() {
    for (int turn = 0; turn < 360; turn += 30) {
      const auto spot = at(kOuter + 22, turn);
      text(spot[0], spot[1] + 5, 14, "middle", format("%d°", turn));
    }
    for (int w = 0; w < map_.wall_angles(); w += 4) {
      const double angle = map_.first_wall_angle_deg() + w * map_.wall_angle_step_deg();
      const auto spot = at(kInner + (w + 0.5) * ring_, 0);
      text(spot[0], spot[1] + 4, 11, "middle", format("%+.0f°", angle), "bold",
           "fill=\"#000\" stroke=\"#fff\" stroke-width=\"3\" paint-order=\"stroke\"");
    }
    const char* lines[] = {"around: rotation,",      "counter-clockwise;",
                           "outwards: wall angle,",  "slab −20° to overhang +60°;",
                           "pulled straight down;",  "numbers: share of a jug,",
                           "for feet of a deep edge"};
    double y = kCentre - 46;
    for (const char* line : lines) text(kCentre, y += 16, 12, "middle", line);
  }

  void paintLegend() {
    double x = 40;
    for (const Look& look : kLooks) {
      svg_ += format(
          "<rect x=\"%.0f\" y=\"992\" width=\"20\" height=\"20\" fill=\"#%02x%02x%02x\" "
          "fill-opacity=\".6\"/>\n",
          x, look.red, look.green, look.blue);
      text(x + 10, 1007, 13, "middle", look.letter, "bold");
      text(x + 26, 1007, 14, "start", std::string(wordOf(look.kind)));
      x += look.kind == GripKind::Pocket || look.kind == GripKind::Sloper ? 132 : 125;
    }
    text(500, 1044, 13, "middle", gripCaution());
  }

  const GripMap& map_;
  const Cells& cells_;
  double ring_;
  std::string svg_;
};

}  // namespace

std::string gripRoseSvg(const GripMap& map, const std::string& title, const GripThresholds& t) {
  if (!lookUp(map, {}))
    throw BadInput("This grip map is of another version; measure the hold again to renew it.");
  const Cells cells = cellsOf(map, t);
  return RosePainter(map, cells).paint(title);
}

}  // namespace holdshelf
