// SPDX-License-Identifier: Apache-2.0
#include "mesh/pinch.h"

#include <tbb/enumerable_thread_specific.h>
#include <tbb/parallel_for.h>

#include <algorithm>
#include <cmath>
#include <functional>

#include "mesh/circle_fit.h"

namespace holdshelf {
namespace {

constexpr double kLevel_mm = 1, kSlice_mm = 2;
constexpr int kDirections = 36;

/// The solid's left and right side at one height of a section.
struct Interval {
  double left, right, left_facing, right_facing;
};

/// @param filled  Whether a place (u, z) is inside a bolt's recess, which counts as solid.
std::vector<std::vector<Interval>> intervalsOf(const std::vector<OutsideLine>& lines, double top,
                                               const std::function<bool(double)>& filled) {
  struct Side {
    double u, facing;
    bool left;
  };
  std::vector<std::vector<Side>> sides(static_cast<std::size_t>(top / kLevel_mm) + 1);
  for (const OutsideLine& line : lines)
    for (std::size_t i = 0; i + 1 < line.at_mm.size(); ++i) {
      const Eigen::Vector2d &a = line.at_mm[i], &b = line.at_mm[i + 1];
      const bool rises = b.y() > a.y();
      const double low = std::min(a.y(), b.y()), high = std::max(a.y(), b.y());
      for (int k = std::max(0, static_cast<int>(std::ceil(low / kLevel_mm)));
           k < static_cast<int>(sides.size()) && k * kLevel_mm < high; ++k) {
        if (k * kLevel_mm < low) continue;
        const double f = (k * kLevel_mm - a.y()) / (b.y() - a.y()), u = a.x() + f * (b.x() - a.x());
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

/// A pinch in one section.
struct PinchCut {
  double offset = 0, width = 0, middle = 0, taper = 0, height = 0, depth = 0, grip_z = 0;
};

struct Candidate {
  double direction = 0, score = 0, length = 0;
  PinchCut cut;
  Eigen::Vector2d centre;
};

/// One closing direction: sections along it, pinches in each, joined sideways.
class DirectionSearch {
 public:
  DirectionSearch(const GripSource& source, const PinchOptions& options, double direction_deg,
                  SectionCutter& cutter)
      : source_(source), o_(options), direction_deg_(direction_deg), cutter_(cutter) {
    // A closing direction at angle d is the u axis of the pull planes at rotation 90 - d.
    planes_ = pullPlanes(90 - direction_deg);
    const auto [low, high] = reachAlong(source.mesh, planes_.normal);
    top_ = std::max(top_, reachAlong(source.mesh, Eigen::Vector3d::UnitZ()).second);
    planes_.step_mm = std::max(kSlice_mm, (high - low) / 100);
    planes_.first_mm = low + 0.5 * planes_.step_mm;
    planes_.count = std::max(1, static_cast<int>((high - low) / planes_.step_mm));
  }

  std::vector<Candidate> search() {
    std::vector<std::vector<PinchCut>> runs;
    cutter_.cut(planes_, [&](int k, const SectionLines& lines) {
      for (const PinchCut& cut : cutsOf(planes_.offset(k), lines)) {
        std::vector<PinchCut>* run = nullptr;
        for (auto& r : runs)
          if (cut.offset > r.back().offset &&
              cut.offset - r.back().offset < 1.5 * planes_.step_mm &&
              std::abs(cut.middle - r.back().middle) < 0.5 + 1.2 * planes_.step_mm &&
              std::abs(cut.width - r.back().width) < 0.1 * r.back().width + 1)
            run = &r;
        if (run)
          run->push_back(cut);
        else
          runs.push_back({cut});
      }
    });
    std::vector<Candidate> candidates;
    for (const auto& run : runs) {
      const double length = planes_.step_mm * static_cast<double>(run.size());
      if (length >= o_.shortest_mm) candidates.push_back(candidateOf(run));
    }
    return candidates;
  }

 private:
  bool reachable(double u, double z, double offset) const {
    return source_.reach.gap_mm(planes_.right * u + planes_.up * z + planes_.normal * offset) <=
           1.5 * source_.reach.spacing_mm();
  }

  std::vector<PinchCut> cutsOf(double offset, const SectionLines& section) const {
    const auto filled = [&](double u) {
      const Eigen::Vector3d p = planes_.right * u + planes_.normal * offset;
      for (const FilledDisc& disc : source_.filled)
        if ((p.head<2>() - disc.centre_mm).norm() < disc.radius_mm) return true;
      return false;
    };
    const std::vector<OutsideLine> lines = outsideLines(section, source_.precision.outside());
    const auto levels = intervalsOf(lines, top_, filled);
    std::vector<PinchCut> cuts;
    // From every interval that nothing lies above, down through those below it.
    for (std::size_t k = levels.size(); k-- > 0;)
      for (const Interval& i : levels[k]) {
        if (k + 1 < levels.size() && overlapping(levels[k + 1], i)) continue;
        const auto cut =
            follow(levels, k, i, topOf(lines, i, static_cast<double>(k) * kLevel_mm), offset);
        // Bumps on one crest lead down to the same faces.
        const bool known = std::any_of(cuts.begin(), cuts.end(), [&](const PinchCut& c) {
          return std::abs(c.middle - cut.middle) < 2 && std::abs(c.width - cut.width) < 4;
        });
        if (cut.width > 0 && !known) cuts.push_back(cut);
      }
    return cuts;
  }

  static const Interval* overlapping(const std::vector<Interval>& level, const Interval& i) {
    for (const Interval& other : level)
      if (other.left < i.right && i.left < other.right) return &other;
    return nullptr;
  }

  /// Highest point of the lines above an interval, which is less than a level higher.
  static double topOf(const std::vector<OutsideLine>& lines, const Interval& i, double level) {
    double top = level;
    for (const OutsideLine& line : lines)
      for (const SectionPoint& p : line.points)
        if (p.at_mm.x() >= i.left && p.at_mm.x() <= i.right && p.at_mm.y() < level + kLevel_mm)
          top = std::max(top, p.at_mm.y());
    return top;
  }

  PinchCut follow(const std::vector<std::vector<Interval>>& levels, std::size_t top,
                  Interval interval, double top_z, double offset) const {
    struct At {
      double z;
      Interval i;
    };
    std::vector<At> usable;
    for (std::size_t k = top + 1; k-- > 0;) {
      const Interval* below = overlapping(levels[k], interval);
      if (!below) break;
      interval = *below;
      const double z = static_cast<double>(k) * kLevel_mm, width = interval.right - interval.left;
      const bool square = std::abs(interval.right_facing - 90) < o_.steepest_deg &&
                          std::abs(interval.left_facing + 90) < o_.steepest_deg;
      const bool good = square && width > o_.narrowest_mm && width < o_.widest_mm && z > 1;
      if (!good && !usable.empty()) break;
      if (good) usable.push_back({z, interval});
    }
    PinchCut cut;
    const double height = kLevel_mm * static_cast<double>(usable.size());
    if (height < o_.lowest_mm || usable.front().z < top_z - 25) return cut;
    const double wanted = std::clamp(top_z - o_.grip_depth_mm, usable.back().z, usable.front().z);
    const At& at = *std::min_element(usable.begin(), usable.end(), [&](const At& a, const At& b) {
      return std::abs(a.z - wanted) < std::abs(b.z - wanted);
    });
    if (!reachable(at.i.left, at.z, offset) || !reachable(at.i.right, at.z, offset)) return cut;
    // Lines through both faces from the pads down, clear of a rounded crest, give taper and width.
    std::vector<Eigen::Vector2d> left, right;
    for (const At& a : usable) {
      if (a.z > at.z + 3 || a.z < at.z - 12) continue;
      left.emplace_back(a.z, a.i.left);
      right.emplace_back(a.z, a.i.right);
    }
    const auto l = fitLine(left), r = fitLine(right);
    if (!l || !r || left.size() < 4) return cut;
    const auto angle = [](const LineFit& f) {
      return std::atan(f.direction.y() / f.direction.x()) * 180 / M_PI;
    };
    if (angle(*l) - angle(*r) > o_.widest_taper_deg) return cut;
    const auto height_at = [&](const LineFit& f) {
      return f.centre_mm.y() + (wanted - f.centre_mm.x()) * f.direction.y() / f.direction.x();
    };
    cut.offset = offset;
    cut.width = height_at(*r) - height_at(*l);
    cut.middle = 0.5 * (height_at(*r) + height_at(*l));
    cut.taper = angle(*l) - angle(*r);
    cut.height = height;
    cut.depth = top_z - wanted;
    cut.grip_z = wanted;
    return cut;
  }

  Candidate candidateOf(const std::vector<PinchCut>& run) const {
    Candidate c;
    c.direction = direction_deg_;
    c.cut = run[run.size() / 2];
    c.length = planes_.step_mm * static_cast<double>(run.size());
    const Eigen::Vector3d p = planes_.right * c.cut.middle + planes_.normal * c.cut.offset;
    c.centre = p.head<2>();
    c.score = std::min(c.cut.height, 40.0) * std::min(c.length, 70.0) / std::max(c.cut.width, 25.0);
    return c;
  }

  const GripSource& source_;
  const PinchOptions& o_;
  double direction_deg_;
  SectionCutter& cutter_;
  PlaneFamily planes_;
  double top_ = 0;
};

double turnBetween(double a, double b) {
  const double d = std::fmod(std::abs(a - b), 180);
  return std::min(d, 180 - d);
}

bool alike(const Candidate& a, const Candidate& b, double turn) {
  const double between = (a.centre - b.centre).norm(),
               apart = turnBetween(a.direction, b.direction);
  // Two stretches of the same pair of faces are one pinch.
  if (apart <= 15 && std::abs(a.cut.width - b.cut.width) < 0.15 * a.cut.width &&
      between < 0.5 * (a.length + b.length) + 10)
    return true;
  return between < 0.5 * std::max(a.cut.width, 40.0) && apart <= turn;
}

Pinch describe(const Candidate& c, const MeshPrecision& precision) {
  const auto set = [](Measured* m, double value, double sigma) {
    m->set_value(value);
    m->set_sigma(sigma);
  };
  Pinch pinch;
  pinch.set_direction_deg(c.direction);
  pinch.set_depth_mm(c.cut.depth);
  pinch.mutable_centre_mm()->set_x(c.centre.x());
  pinch.mutable_centre_mm()->set_y(c.centre.y());
  const double lean = std::tan(std::abs(c.cut.taper) / 2 * M_PI / 180);
  // The faces are known to sigma; the direction to half a step, which widens the section; the depth
  // to half a level, which the taper turns into width.
  const double width = std::hypot(std::hypot(precision.sigma_mm, 1.4 * precision.ofResolution_mm()),
                                  std::hypot(c.cut.width * 0.0004, lean * kLevel_mm));
  set(pinch.mutable_width_mm(), c.cut.width, width);
  set(pinch.mutable_taper_deg(), c.cut.taper,
      std::hypot(0.15, 2 * precision.sigma_mm * 180 / M_PI / std::max(5.0, c.cut.height)));
  set(pinch.mutable_height_mm(), c.cut.height, kLevel_mm);
  set(pinch.mutable_length_mm(), c.length, 1.4 * kSlice_mm / 1.7);
  return pinch;
}

}  // namespace

std::vector<Pinch> findPinches(const GripSource& source, const PinchOptions& options) {
  tbb::enumerable_thread_specific<SectionCutter> cutters(
      [&] { return SectionCutter(source.mesh, source.topology); });
  std::vector<std::vector<Candidate>> found(kDirections);
  tbb::parallel_for(0, kDirections, [&](int i) {
    found[i] = DirectionSearch(source, options, 180.0 / kDirections * i, cutters.local()).search();
  });
  std::vector<Candidate> all;
  for (auto& f : found) all.insert(all.end(), f.begin(), f.end());
  std::stable_sort(all.begin(), all.end(),
                   [](const Candidate& a, const Candidate& b) { return a.score > b.score; });
  std::vector<Candidate> kept;
  for (const Candidate& c : all) {
    if (kept.size() == 6 || c.score < 0.3 * all.front().score) break;
    if (std::any_of(kept.begin(), kept.end(), [&](const Candidate& k) { return alike(k, c, 50); }))
      continue;
    // The closing direction is the one across which the same faces are narrowest.
    Candidate best = c;
    for (const Candidate& other : all)
      if (alike(c, other, 20) && other.score > 0.6 * c.score &&
          other.cut.width < best.cut.width - 1e-6)
        best = other;
    if (std::none_of(kept.begin(), kept.end(),
                     [&](const Candidate& k) { return alike(k, best, 40); }))
      kept.push_back(best);
  }
  std::vector<Pinch> pinches;
  for (const Candidate& c : kept) pinches.push_back(describe(c, source.precision));
  return pinches;
}

}  // namespace holdshelf
