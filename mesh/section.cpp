// SPDX-License-Identifier: Apache-2.0
#include "mesh/section.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>

#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr std::size_t kMostCrossings = 200'000'000;

/// How many triangles each of `planes` crosses, given the first and the end of those that cross
/// each triangle: one more from the first on, one less from the end on.
std::vector<std::size_t> crossingsOf(const std::vector<std::pair<int, int>>& ranges, int planes) {
  std::vector<std::ptrdiff_t> change(static_cast<std::size_t>(planes) + 1, 0);
  for (const auto& [first, end] : ranges) {
    ++change[static_cast<std::size_t>(first)];
    --change[static_cast<std::size_t>(end)];
  }
  std::vector<std::size_t> crossings;
  std::ptrdiff_t open = 0;
  for (int k = 0; k < planes; ++k)
    crossings.push_back(static_cast<std::size_t>(open += change[static_cast<std::size_t>(k)]));
  return crossings;
}

}  // namespace

std::vector<std::size_t> runStarts(const std::vector<std::size_t>& lengths) {
  std::vector<std::size_t> starts = {0};
  for (const std::size_t length : lengths) {
    if (length > kMostCrossings || starts.back() + length > kMostCrossings)
      throw BadInput(
          "The mesh's triangles are so large and so many that they lie over one another; export "
          "the hold's surface again, each part of it once.");
    starts.push_back(starts.back() + length);
  }
  return starts;
}

PlaneFamily pullPlanes(double rotation_deg) {
  const double r = rotation_deg * M_PI / 180;
  PlaneFamily planes;
  planes.right = {std::sin(r), std::cos(r), 0};
  planes.up = Eigen::Vector3d::UnitZ();
  planes.normal = {std::cos(r), -std::sin(r), 0};
  return planes;
}

SectionCutter::SectionCutter(const TriangleMesh& mesh, const MeshTopology& topology)
    : mesh_(mesh), topology_(topology), mark_(mesh.triangles.size(), -1) {}

void SectionCutter::setHeights(const Eigen::Vector3d& normal) {
  if (normal == heights_along_ && height_.size() == mesh_.vertices_mm.size()) return;
  heights_along_ = normal;
  height_.resize(mesh_.vertices_mm.size());
  for (std::size_t v = 0; v < height_.size(); ++v) height_[v] = normal.dot(mesh_.vertices_mm[v]);
}

/// A plane crosses a triangle where a corner is below it (<) and another is not (>=): with c planes
/// at or below a corner, these are the planes from the least c of the three to the greatest.
void SectionCutter::bucket(const PlaneFamily& planes) {
  setHeights(planes.normal);
  at_or_below_.resize(height_.size());
  for (std::size_t v = 0; v < height_.size(); ++v) {
    const double h = height_[v];
    int c = static_cast<int>(
        std::clamp(std::floor((h - planes.first_mm) / planes.step_mm), -1.0, planes.count - 1.0));
    while (c >= 0 && planes.offset(c) > h) --c;  // The division rounds; offsets are what counts.
    while (c + 1 < planes.count && planes.offset(c + 1) <= h) ++c;
    at_or_below_[v] = c + 1;
  }
  const std::size_t count = mesh_.triangles.size();
  range_.resize(count);
  for (std::size_t i = 0; i < count; ++i) {
    const Eigen::Vector3i& t = mesh_.triangles[i];
    const int a = at_or_below_[t[0]], b = at_or_below_[t[1]], c = at_or_below_[t[2]];
    range_[i] = {std::min({a, b, c}), std::max({a, b, c})};
  }
  start_ = runStarts(crossingsOf(range_, planes.count));
  crossed_.resize(start_.back());
  std::vector<std::size_t> next(start_.begin(), start_.end() - 1);
  for (std::size_t i = 0; i < count; ++i)
    for (int k = range_[i].first; k < range_[i].second; ++k)
      crossed_[next[k]++] = static_cast<int>(i);
  ranges_of_ = planes;
}

SectionPoint SectionCutter::crossing(const PlaneFamily& planes, double offset,
                                     int half_edge) const {
  const Eigen::Vector3i& t = mesh_.triangles[half_edge / 3];
  int from = t[half_edge % 3], to = t[(half_edge % 3 + 1) % 3];
  if (from > to) std::swap(from, to);  // Both triangles of an edge compute the same digits.
  const double share = (offset - height_[from]) / (height_[to] - height_[from]);
  const Eigen::Vector3d p =
      mesh_.vertices_mm[from] + share * (mesh_.vertices_mm[to] - mesh_.vertices_mm[from]);
  return {{planes.right.dot(p), planes.up.dot(p)}, from, to, share};
}

int SectionCutter::leavingEdge(int triangle, double offset, bool down) const {
  const Eigen::Vector3i& t = mesh_.triangles[triangle];
  for (int k = 0; k < 3; ++k) {
    const bool above = height_[t[k]] >= offset, next_above = height_[t[(k + 1) % 3]] >= offset;
    if (above != next_above && above == down) return 3 * triangle + k;
  }
  return -1;
}

/// Goes on from the line's last triangle, leaving each by the edge that falls below the plane: with
/// corners counter-clockwise from outside that keeps the outside to the left.
void SectionCutter::follow(const PlaneFamily& planes, double offset, int triangle,
                           SectionLine& line) {
  const int first = triangle;
  int leave = leavingEdge(triangle, offset, true);
  for (;;) {
    mark_[triangle] = cut_;
    line.points.push_back(crossing(planes, offset, leave));
    const int across = topology_.across[leave];
    if (across < 0) return;
    triangle = across / 3;
    if (triangle == first) {
      line.closed = true;
      return;
    }
    if (mark_[triangle] == cut_) return;
    // A neighbour that is turned over is entered by its falling edge and left by the other.
    leave = leavingEdge(triangle, offset, true);
    if (leave == across) leave = leavingEdge(triangle, offset, false);
  }
}

SectionLines SectionCutter::linesOf(const PlaneFamily& planes, int k) {
  ++cut_;
  const double offset = planes.offset(k);
  SectionLines lines;
  const auto at = [&](int plane) {
    return crossed_.begin() + static_cast<std::ptrdiff_t>(start_[static_cast<std::size_t>(plane)]);
  };
  const auto begin = at(k), end = at(k + 1);
  // Lines that begin at a border first, so that none is begun in its middle.
  if (topology_.border_edges > 0)
    for (auto t = begin; t != end; ++t) {
      const int enter = leavingEdge(*t, offset, false);
      if (mark_[*t] == cut_ || topology_.across[enter] >= 0) continue;
      SectionLine line;
      line.points.push_back(crossing(planes, offset, enter));
      follow(planes, offset, *t, line);
      lines.push_back(std::move(line));
    }
  for (auto t = begin; t != end; ++t) {
    if (mark_[*t] == cut_) continue;
    SectionLine line;
    follow(planes, offset, *t, line);
    if (line.points.size() > 1) lines.push_back(std::move(line));
  }
  return lines;
}

void SectionCutter::cut(const PlaneFamily& planes,
                        const std::function<void(int, const SectionLines&)>& use) {
  bucket(planes);
  for (int k = 0; k < planes.count; ++k) use(k, linesOf(planes, k));
}

SectionLines SectionCutter::cutOne(PlaneFamily plane, double offset_mm) {
  plane.first_mm = offset_mm;
  plane.count = 1;
  const bool ranged = !range_.empty() && ranges_of_.normal == plane.normal;
  const PlaneFamily family = ranges_of_;
  setHeights(plane.normal);
  crossed_.clear();
  const auto crosses = [&](const Eigen::Vector3i& t) {
    const int sum =
        (height_[t[0]] >= offset_mm) + (height_[t[1]] >= offset_mm) + (height_[t[2]] >= offset_mm);
    return sum == 1 || sum == 2;
  };
  // The hot path of refinements: a family that was cut before says which triangles come near.
  int slab = 0;
  while (ranged && slab < family.count && family.offset(slab) <= offset_mm) ++slab;
  for (std::size_t i = 0; i < mesh_.triangles.size(); ++i)
    if ((!ranged || (range_[i].first <= slab && range_[i].second >= slab)) &&
        crosses(mesh_.triangles[i]))
      crossed_.push_back(static_cast<int>(i));
  start_ = {0, crossed_.size()};
  return linesOf(plane, 0);
}

}  // namespace holdshelf
