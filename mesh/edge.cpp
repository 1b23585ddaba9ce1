// SPDX-License-Identifier: Apache-2.0
#include "mesh/edge.h"

#include <algorithm>
#include <cmath>
#include <tuple>

namespace holdshelf {
namespace {

/// A face that turns on over this length by less than the noise is at rest: R above some 100 mm.
constexpr double kLook_mm = 6, kLookAtRoot_mm = 4;
/// The averaging window spreads a sharp turn over this many half windows (between the points where
/// a straight ramp through its quarter levels begins and ends).
constexpr double kSpread = 1.17;

/// Walks one outside line with its facing unwrapped where it passes 180 (undersides).
class Walk {
 public:
  Walk(const OutsideLine& line, const EdgeOptions& options) : line_(line), o_(options) {
    still_deg_ = std::max(3.0, 3 * options.facing_sigma_deg);
    quiet_deg_ = std::max(3.0, 3 * options.turn_sigma_deg);
  }

  int size() const { return static_cast<int>(line_.at_mm.size()); }
  double step() const { return line_.step_mm; }
  double facing(int i) const {
    const double f = line_.facing_deg[static_cast<std::size_t>(i)];
    return f < -150 ? f + 360 : f;
  }
  bool grips(int i) const { return facing(i) > o_.grip_facing_deg; }
  int samples(double mm) const { return std::max(1, static_cast<int>(std::lround(mm / step()))); }

  /// From a sample on the turn back to where the turn began: as long as the facing was still lower
  /// a little earlier, but not beyond facing the climber squarely.
  int turnBegin(int i) const {
    const int look = samples(kLook_mm);
    while (i > 0 && facing(i) > 0) {
      double lowest = facing(i);
      for (int k = std::max(0, i - look); k < i; ++k)
        if (facing(k) < lowest && facing(k) > -100) lowest = facing(k);
      if (lowest > facing(i) - still_deg_) break;
      --i;
    }
    return i;
  }

  /// From a sample on the turn on to where the facing rises no more, before `end`.
  int turnEnd(int i, int end) const { return riseEnd(i, end, still_deg_); }
  /// The same, but for what is left of the turn when only differing noise is allowed for.
  int lastTurnEnd(int i, int end) const { return riseEnd(i, end, quiet_deg_); }

  int riseEnd(int i, int end, double still_deg) const {
    const int look = samples(kLook_mm);
    while (i + 1 < end) {
      double highest = facing(i);
      for (int k = i + 1; k <= std::min(end - 1, i + look); ++k)
        highest = std::max(highest, facing(k));
      if (highest < facing(i) + still_deg) break;
      ++i;
    }
    return i;
  }

  /// The same two for the root's turn back, in which the facing falls.
  int fallBegin(int i, int begin) const {
    const int look = samples(kLookAtRoot_mm);
    while (i > begin) {
      double highest = facing(i);
      for (int k = std::max(begin, i - look); k < i; ++k) highest = std::max(highest, facing(k));
      if (highest < facing(i) + still_deg_) break;
      --i;
    }
    return i;
  }
  int fallEnd(int i) const {
    const int look = samples(kLookAtRoot_mm);
    while (i + 1 < size() && facing(i) > 0) {
      double lowest = facing(i);
      for (int k = i + 1; k <= std::min(size() - 1, i + look); ++k)
        lowest = std::min(lowest, facing(k));
      if (lowest > facing(i) - still_deg_) break;
      ++i;
    }
    return i;
  }

  /// Ends of a straight ramp through the turn's quarter levels, with the window's spread taken out.
  std::pair<double, double> rampEnds(int from, int to) const {
    const double a = facing(from), b = facing(to), sign = b > a ? 1 : -1;
    const auto crossing = [&](double level) {
      for (int i = from; i < to; ++i) {
        const double f = facing(i), g = facing(i + 1);
        if (sign * f <= sign * level && sign * g > sign * level)
          return (i + (g != f ? (level - f) / (g - f) : 0)) * step();
      }
      return 0.5 * (from + to) * step();
    };
    const double quarter = crossing(a + 0.25 * (b - a)), three = crossing(a + 0.75 * (b - a));
    const double length = 2 * std::max(0.0, three - quarter), spread = kSpread * o_.kernel_mm;
    const double half = 0.5 * std::sqrt(std::max(0.0, length * length - spread * spread));
    const double middle = 0.5 * (quarter + three);
    return {middle - half, middle + half};
  }

  Eigen::Vector2d at(double run) const { return line_.pointAt(run); }

 private:
  const OutsideLine& line_;
  const EdgeOptions& o_;
  double still_deg_, quiet_deg_;
};

/// Angle to the wall normal of the way from a to b, behind the lip: positive falls in.
double incutOf(const Eigen::Vector2d& a, const Eigen::Vector2d& b) {
  return std::atan2(a.x() - b.x(), a.y() - b.y()) * 180 / M_PI;
}

void placeLip(const Walk& walk, SectionEdge& e) {
  // The outermost point of the arc; a face that slopes towards the wall makes that its beginning.
  e.lip_mm = e.arc_begin_mm;
  e.lip_at_mm = walk.at(e.arc_begin_mm);
  for (double run = e.arc_begin_mm - 1; run <= e.arc_end_mm; run += 0.5 * walk.step()) {
    if (run < 0) continue;
    const Eigen::Vector2d p = walk.at(run);
    // Along a flat face all points are as far out; the arc's beginning is the lip's.
    if (p.y() > e.lip_at_mm.y() + 0.005 && (run >= e.arc_begin_mm || e.face_facing_deg < 3)) {
      e.lip_at_mm = p;
      e.lip_mm = std::max(run, e.arc_begin_mm);
    }
  }
}

void placeRoot(const OutsideLine& line, const Walk& walk, int run_begin, int run_end,
               const EdgeOptions& o, SectionEdge& e) {
  const Eigen::Vector2d last = line.points.back().at_mm;
  e.at_wall = run_end >= walk.size() && last.y() < o.wall_mm;
  if (run_end >= walk.size()) {
    e.root_mm = line.length_mm();
    e.face_end_mm = std::max(e.arc_end_mm, e.root_mm - 0.5);
    e.root_at_mm = last;
    if (e.at_wall) e.root_at_mm.y() = 0;
    return;
  }
  const int begin = walk.fallBegin(run_end, run_begin), end = walk.fallEnd(run_end);
  const auto [from, to] = walk.rampEnds(begin, end);
  e.face_end_mm = std::max(from, e.arc_end_mm);
  e.root_mm = std::max(to, e.face_end_mm);
  e.root_at_mm = walk.at(e.root_mm);
}

/// Cuts an edge short where fingers don't come. False: none of it can be reached.
bool cutToReach(const OutsideLine& line, const Walk& walk, const EdgeOptions& o, SectionEdge& e) {
  if (!o.gap_mm) return true;
  const auto touched = [&](const Eigen::Vector2d& p) { return o.gap_mm(p) <= o.touch_mm; };
  // The true root counts when a finger touches the last of the grip face or the rise behind it: in
  // an acute corner the finger's round end rests on both sides of the corner, not in it.
  const double length = e.root_mm - e.arc_begin_mm;
  for (double f : {0.95, 0.8, 0.6})
    if (touched(walk.at(e.arc_begin_mm + f * length)) && f * length > length - 8) return true;
  for (double d = 1; d <= 20; d += 1.5) {
    if (e.at_wall) {
      if (touched(e.root_at_mm + Eigen::Vector2d(d, 0))) return true;
      continue;
    }
    const double run = e.root_mm + d;
    if (run >= line.length_mm()) break;
    const int i = std::min(walk.size() - 1, static_cast<int>(run / walk.step()));
    if (std::abs(walk.facing(i)) > 70) break;
    if (touched(walk.at(run))) return true;
  }
  double reached = -1;
  for (double run = e.arc_begin_mm; run <= e.root_mm; run += walk.step()) {
    if (o.gap_mm(walk.at(run)) <= o.touch_mm)
      reached = run;
    else if (reached >= 0)
      break;
  }
  if (reached <= e.lip_mm) return false;
  e.cut_short = true;
  e.at_wall = false;
  e.root_mm = reached;
  e.face_end_mm = std::min(e.face_end_mm, reached);
  e.arc_end_mm = std::min(e.arc_end_mm, reached);
  e.contact_begin_mm = std::min(e.contact_begin_mm, reached);
  e.root_at_mm = walk.at(reached);
  return true;
}

}  // namespace

std::pair<double, double> contactPart(const SectionEdge& e, const EdgeOptions& o) {
  const double length = e.face_end_mm - e.contact_begin_mm;
  if (length >= 1) {
    const double guard = std::min(0.1 * length, 0.5);
    return {e.contact_begin_mm + guard,
            std::min(e.contact_begin_mm + o.contact_mm, e.face_end_mm - guard)};
  }
  const double all = e.face_end_mm - e.arc_begin_mm;
  return {std::max(e.face_end_mm - o.contact_mm, e.face_end_mm - 0.6 * all), e.face_end_mm};
}

std::vector<SectionEdge> findEdges(const OutsideLine& line, const EdgeOptions& o) {
  std::vector<SectionEdge> edges;
  const Walk walk(line, o);
  const int n = walk.size();
  for (int i = 1; i < n; ++i) {
    // A grip face is entered from a face; one that is entered from behind is no edge's.
    if (!walk.grips(i) || walk.grips(i - 1) || walk.facing(i) > 170) continue;
    const int begin = i;
    int end = i;
    const int bridge = walk.samples(1.5);
    for (;;) {
      while (end < n && walk.grips(end)) ++end;
      int next = end;
      while (next < std::min(n, end + bridge) && !walk.grips(next) && walk.facing(next) > 10)
        ++next;
      if (next >= n || !walk.grips(next)) break;
      end = next;
    }
    i = end;
    SectionEdge e;
    const int turn_begin = walk.turnBegin(begin), turn_end = walk.turnEnd(begin, end);
    if (turn_end <= turn_begin) continue;
    e.face_facing_deg = walk.facing(turn_begin);
    e.grip_facing_deg = walk.facing(turn_end);
    std::tie(e.arc_begin_mm, e.arc_end_mm) = walk.rampEnds(turn_begin, turn_end);
    const int last = walk.lastTurnEnd(turn_end, end);
    e.contact_begin_mm = last == turn_end
                             ? e.arc_end_mm
                             : std::max(e.arc_end_mm, walk.rampEnds(turn_begin, last).second);
    placeLip(walk, e);
    placeRoot(line, walk, turn_end, end, o, e);
    if (e.lip_at_mm.y() - e.root_at_mm.y() < o.smallest_depth_mm) continue;
    if (!cutToReach(line, walk, o, e)) continue;
    e.depth_mm = e.lip_at_mm.y() - e.root_at_mm.y();
    e.along_mm = e.root_mm - e.lip_mm;
    const auto [from, to] = contactPart(e, o);
    e.incut_deg = incutOf(walk.at(from), walk.at(to));
    if (e.depth_mm >= o.smallest_depth_mm) edges.push_back(e);
  }
  return edges;
}

}  // namespace holdshelf
