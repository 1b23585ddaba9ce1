// SPDX-License-Identifier: Apache-2.0
#include "mesh/footprint.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>

namespace holdshelf {
namespace {

using Eigen::Vector2d;
using Eigen::Vector3d;

struct FootprintRaster {
  int width = 0, height = 0;
  double grid = 1;
  Vector2d low;
  std::vector<std::uint8_t> filled;
  std::uint8_t at(int x, int y) const {
    return x >= 0 && y >= 0 && x < width && y < height
               ? filled[static_cast<std::size_t>(y) * static_cast<std::size_t>(width) +
                        static_cast<std::size_t>(x)]
               : 0;
  }
};

void fillTriangle(FootprintRaster& r, const Vector3d& a, const Vector3d& b, const Vector3d& c) {
  const auto cell = [&](double v, int k) { return (v - r.low[k]) / r.grid; };
  const int y0 = static_cast<int>(std::ceil(cell(std::min({a.y(), b.y(), c.y()}), 1)));
  const int y1 = static_cast<int>(std::floor(cell(std::max({a.y(), b.y(), c.y()}), 1)));
  for (int y = y0; y <= y1; ++y) {
    const double py = r.low.y() + y * r.grid;
    double from = std::numeric_limits<double>::infinity(), to = -from;
    const Vector3d* p[4] = {&a, &b, &c, &a};
    for (int k = 0; k < 3; ++k) {
      const Vector3d &s = *p[k], &e = *p[k + 1];
      if ((s.y() <= py) == (e.y() <= py)) continue;
      const double x = s.x() + (py - s.y()) / (e.y() - s.y()) * (e.x() - s.x());
      from = std::min(from, x);
      to = std::max(to, x);
    }
    if (!(from <= to)) continue;
    const int x0 = static_cast<int>(std::ceil(cell(from, 0))),
              x1 = static_cast<int>(std::floor(cell(to, 0)));
    for (int x = x0; x <= x1; ++x)
      r.filled[static_cast<std::size_t>(y) * static_cast<std::size_t>(r.width) +
               static_cast<std::size_t>(x)] = 1;
  }
}

FootprintRaster draw(const TriangleMesh& mesh) {
  Vector2d low = Vector2d::Constant(std::numeric_limits<double>::infinity()), high = -low;
  for (const Vector3d& v : mesh.vertices_mm) {
    low = low.cwiseMin(v.head<2>());
    high = high.cwiseMax(v.head<2>());
  }
  FootprintRaster r;
  r.grid = std::max(0.1, (high - low).maxCoeff() / 1200);
  r.low =
      low - Vector2d::Constant(2.37 * r.grid);  // Off the round numbers that sides like to have.
  const Vector2d cells = (high - r.low) / r.grid;
  r.width = static_cast<int>(cells.x()) + 4;
  r.height = static_cast<int>(cells.y()) + 4;
  r.filled.assign(static_cast<std::size_t>(r.width) * static_cast<std::size_t>(r.height), 0);
  for (const Eigen::Vector3i& t : mesh.triangles) {
    const Vector3d &a = mesh.vertices_mm[t[0]], &b = mesh.vertices_mm[t[1]],
                   &c = mesh.vertices_mm[t[2]];
    // What faces the wall is covered by what faces the climber, in closed and in open meshes.
    if ((b.x() - a.x()) * (c.y() - a.y()) - (b.y() - a.y()) * (c.x() - a.x()) > 0)
      fillTriangle(r, a, b, c);
  }
  return r;
}

/// Follows the border of the piece that begins at (x, y), its lowest and then leftmost point,
/// around the corners of the raster's squares, solid to the left.
std::vector<Vector2d> follow(const FootprintRaster& r, int x, int y) {
  // Directions: 0 right, 1 up, 2 left, 3 down; a node (x, y) is the lower left corner of square x,
  // y.
  constexpr int kX[4] = {1, 0, -1, 0}, kY[4] = {0, 1, 0, -1};
  std::vector<Vector2d> nodes;
  int at_x = x, at_y = y, way = 0;
  do {
    nodes.emplace_back(r.low.x() + (at_x - 0.5) * r.grid, r.low.y() + (at_y - 0.5) * r.grid);
    at_x += kX[way];
    at_y += kY[way];
    // The squares ahead on the left and on the right of the node just reached.
    const auto ahead = [&](bool left) {
      const int dx[4] = {0, -1, -1, 0}, dy[4] = {0, 0, -1, -1};  // By direction, on the left.
      const int side = left ? way : (way + 3) % 4;
      return r.at(at_x + dx[side], at_y + dy[side]) != 0;
    };
    if (!ahead(true))
      way = (way + 1) % 4;
    else if (ahead(false))
      way = (way + 3) % 4;
  } while (at_x != x || at_y != y || way != 0);
  return nodes;
}

double signedArea(const std::vector<Vector2d>& polygon) {
  double twice = 0;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const Vector2d &a = polygon[i], &b = polygon[(i + 1) % polygon.size()];
    twice += a.x() * b.y() - a.y() * b.x();
  }
  return twice / 2;
}

/// The middle of every three sides: takes the raster's stairs out to about a tenth of a square.
std::vector<Vector2d> smooth(const std::vector<Vector2d>& p) {
  const std::size_t n = p.size();
  std::vector<Vector2d> out(n);
  for (std::size_t i = 0; i < n; ++i) {
    Vector2d sum = Vector2d::Zero();
    for (std::size_t k = n - 3; k < n + 4; ++k) sum += p[(i + k) % n];
    out[i] = sum / 7;
  }
  return out;
}

/// Douglas and Peucker, "Algorithms for the reduction of the number of points...", 1973.
void thin(const std::vector<Vector2d>& p, std::size_t from, std::size_t to, double within,
          std::vector<bool>& keep) {
  std::vector<std::pair<std::size_t, std::size_t>> open = {{from, to}};
  while (!open.empty()) {
    const auto [a, b] = open.back();
    open.pop_back();
    const Vector2d way = p[b % p.size()] - p[a];
    const double length = way.norm();
    double worst = within;
    std::size_t at = 0;
    for (std::size_t i = a + 1; i < b; ++i) {
      const Vector2d d = p[i] - p[a];
      const double off =
          length > 0 ? std::abs(way.x() * d.y() - way.y() * d.x()) / length : d.norm();
      if (off > worst) worst = off, at = i;
    }
    if (at == 0) continue;
    keep[at] = true;
    open.emplace_back(a, at);
    open.emplace_back(at, b);
  }
}

}  // namespace

Footprint measureFootprint(const TriangleMesh& mesh) {
  Footprint out;
  if (mesh.vertices_mm.empty()) return out;
  FootprintRaster r = draw(mesh);
  out.grid_mm = r.grid;
  std::size_t count = 0;
  Vector2d sum = Vector2d::Zero();
  std::vector<Vector2d> best;
  std::vector<bool> begun(r.filled.size(), false);
  for (int y = 0; y < r.height; ++y)
    for (int x = 0; x < r.width; ++x) {
      if (!r.at(x, y)) continue;
      ++count;
      sum += r.low + r.grid * Vector2d(x, y);
      // A border may begin where the square below and the one before are empty.
      if (r.at(x, y - 1) || r.at(x - 1, y) ||
          begun[static_cast<std::size_t>(y) * static_cast<std::size_t>(r.width) +
                static_cast<std::size_t>(x)])
        continue;
      std::vector<Vector2d> border = follow(r, x, y);
      for (const Vector2d& node : border) {
        const int bx = static_cast<int>(std::lround((node.x() - r.low.x()) / r.grid + 0.5));
        const int by = static_cast<int>(std::lround((node.y() - r.low.y()) / r.grid + 0.5));
        begun[static_cast<std::size_t>(by) * static_cast<std::size_t>(r.width) +
              static_cast<std::size_t>(bx)] = true;
      }
      if (signedArea(border) > (best.empty() ? 0 : signedArea(best))) best = std::move(border);
    }
  if (count == 0) return out;
  out.area_mm2 = static_cast<double>(count) * r.grid * r.grid;
  out.centroid_mm = sum / static_cast<double>(count);
  if (best.size() < 8) return out;
  const std::vector<Vector2d> border = smooth(best);
  for (std::size_t i = 0; i < border.size(); ++i)
    out.perimeter_mm += (border[(i + 1) % border.size()] - border[i]).norm();
  std::vector<bool> keep(border.size() + 1, false);
  keep[0] = keep[border.size() / 2] = true;
  thin(border, 0, border.size() / 2, 0.1, keep);
  thin(border, border.size() / 2, border.size(), 0.1, keep);
  for (std::size_t i = 0; i < border.size(); ++i)
    if (keep[i]) out.outline_mm.push_back(border[i]);
  return out;
}

}  // namespace holdshelf
