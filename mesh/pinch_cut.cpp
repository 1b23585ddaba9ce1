// SPDX-License-Identifier: Apache-2.0
#include "mesh/pinch_cut.h"

#include <algorithm>
#include <cmath>
#include <cstddef>

#include "mesh/circle_fit.h"

namespace holdshelf {
namespace {

/// The solid's left and right side at one height of a section.
struct Interval {
  double left, right, left_facing, right_facing;
};

/// The solid's parts at each level from the wall up, left to right.
std::vector<std::vector<Interval>> intervalsOf(const std::vector<OutsideLine>& lines, double top,
                                               const std::function<bool(double)>& filled) {
  struct Side {
    double u, facing;
    bool left;
  };
  std::vector<std::vector<Side>> sides(static_cast<std::size_t>(top / kPinchLevel_mm) + 1);
  for (const OutsideLine& line : lines)
    for (std::size_t i = 0; i + 1 < line.at_mm.size(); ++i) {
      const Eigen::Vector2d &a = line.at_mm[i], &b = line.at_mm[i + 1];
      const bool rises = b.y() > a.y();
      const double low = std::min(a.y(), b.y()), high = std::max(a.y(), b.y());
      for (int k = std::max(0, static_cast<int>(std::ceil(low / kPinchLevel_mm)));
           k < static_cast<int>(sides.size()) && k * kPinchLevel_mm < high; ++k) {
        if (k * kPinchLevel_mm < low) continue;
        const double f = (k * kPinchLevel_mm - a.y()) / (b.y() - a.y()),
                     u = a.x() + f * (b.x() - a.x());
        if (!filled(u)) sides[k].push_back({u, line.facing_deg[i], rises});
      }
    }
  std::vector<std::vector<Interval>> levels(sides.size());
  for (std::size_t k = 0; k < sides.size(); ++k) {
    std::sort(sides[k].begin(), sides[k].end(),
              [](const Side& a, const Side& b) { return a.u < b.u; });
    for (std::size_t i = 0; i + 1 < sides[k].size(); ++i)
      if (sides[k][i].left && !sides[k][i + 1].left)
        levels[k].push_back(
            {sides[k][i].u, sides[k][i + 1].u, sides[k][i].facing, sides[k][i + 1].facing});
  }
  return levels;
}

/// The part of a level that lies over or under another; nullptr: none.
const Interval* overlapping(const std::vector<Interval>& level, const Interval& i) {
  for (const Interval& other : level)
    if (other.left < i.right && i.left < other.right) return &other;
  return nullptr;
}

/// Highest point of the lines above an interval, which is less than a level higher.
double topOf(const std::vector<OutsideLine>& lines, const Interval& i, double level) {
  double top = level;
  for (const OutsideLine& line : lines)
    for (const SectionPoint& p : line.points)
      if (p.at_mm.x() >= i.left && p.at_mm.x() <= i.right && p.at_mm.y() < level + kPinchLevel_mm)
        top = std::max(top, p.at_mm.y());
  return top;
}

/// The solid's two sides at a height.
struct FacesAt {
  double z;
  Interval i;
};

/// From a part that nothing lies above down, as long as both sides are such that a hand can hold
/// them; downwards.
std::vector<FacesAt> usableFaces(const std::vector<std::vector<Interval>>& levels, std::size_t top,
                                 Interval interval, const PinchOptions& options) {
  std::vector<FacesAt> usable;
  for (std::size_t k = top + 1; k-- > 0;) {
    const Interval* below = overlapping(levels[k], interval);
    if (!below) break;
    interval = *below;
    const double z = static_cast<double>(k) * kPinchLevel_mm,
                 width = interval.right - interval.left;
    const bool square = std::abs(interval.right_facing - 90) < options.steepest_deg &&
                        std::abs(interval.left_facing + 90) < options.steepest_deg;
    const bool good = square && width > options.narrowest_mm && width < options.widest_mm && z > 1;
    if (!good && !usable.empty()) break;
    if (good) usable.push_back({z, interval});
  }
  return usable;
}

/// The pinch that these faces give; width 0: none.
PinchCut cutFrom(const std::vector<FacesAt>& usable, double top_z, const PinchOptions& options,
                 const std::function<bool(double, double)>& reachable) {
  PinchCut cut;
  const double height = kPinchLevel_mm * static_cast<double>(usable.size());
  if (height < options.lowest_mm || usable.front().z < top_z - 25) return cut;
  const double wanted =
      std::clamp(top_z - options.grip_depth_mm, usable.back().z, usable.front().z);
  const FacesAt& at =
      *std::min_element(usable.begin(), usable.end(), [&](const FacesAt& a, const FacesAt& b) {
        return std::abs(a.z - wanted) < std::abs(b.z - wanted);
      });
  if (!reachable(at.i.left, at.z) || !reachable(at.i.right, at.z)) return cut;
  // Lines through both faces from the pads down, clear of a rounded crest, give taper and width.
  std::vector<Eigen::Vector2d> left, right;
  for (const FacesAt& a : usable) {
    if (a.z > at.z + 3 || a.z < at.z - 12) continue;
    left.emplace_back(a.z, a.i.left);
    right.emplace_back(a.z, a.i.right);
  }
  const auto l = fitLine(left), r = fitLine(right);
  if (!l || !r || left.size() < 4) return cut;
  const auto angle = [](const LineFit& f) {
    return std::atan(f.direction.y() / f.direction.x()) * 180 / M_PI;
  };
  if (angle(*l) - angle(*r) > options.widest_taper_deg) return cut;
  const auto height_at = [&](const LineFit& f) {
    return f.centre_mm.y() + (wanted - f.centre_mm.x()) * f.direction.y() / f.direction.x();
  };
  cut.width_mm = height_at(*r) - height_at(*l);
  cut.middle_mm = 0.5 * (height_at(*r) + height_at(*l));
  cut.taper_deg = angle(*l) - angle(*r);
  cut.height_mm = height;
  cut.depth_mm = top_z - wanted;
  return cut;
}

}  // namespace

std::vector<PinchCut> pinchesIn(const std::vector<OutsideLine>& lines, double top_mm,
                                const PinchOptions& options,
                                const std::function<bool(double)>& filled,
                                const std::function<bool(double, double)>& reachable) {
  const auto levels = intervalsOf(lines, top_mm, filled);
  std::vector<PinchCut> cuts;
  // From every interval that nothing lies above, down through those below it.
  for (std::size_t k = levels.size(); k-- > 0;)
    for (const Interval& i : levels[k]) {
      if (k + 1 < levels.size() && overlapping(levels[k + 1], i)) continue;
      const double top = topOf(lines, i, static_cast<double>(k) * kPinchLevel_mm);
      const PinchCut cut = cutFrom(usableFaces(levels, k, i, options), top, options, reachable);
      // Bumps on one crest lead down to the same faces.
      const bool known = std::any_of(cuts.begin(), cuts.end(), [&](const PinchCut& c) {
        return std::abs(c.middle_mm - cut.middle_mm) < 2 && std::abs(c.width_mm - cut.width_mm) < 4;
      });
      if (cut.width_mm > 0 && !known) cuts.push_back(cut);
    }
  return cuts;
}

}  // namespace holdshelf
