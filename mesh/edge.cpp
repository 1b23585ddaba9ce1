// SPDX-License-Identifier: Apache-2.0
#include "mesh/edge.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "mesh/circle_fit.h"

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
  int turnEnd(int i, int end) const {
    const int look = samples(kLook_mm);
    while (i + 1 < end) {
      double highest = facing(i);
      for (int k = i + 1; k <= std::min(end - 1, i + look); ++k)
        highest = std::max(highest, facing(k));
      if (highest < facing(i) + still_deg_) break;
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
  double still_deg_;
};

/// Angle to the wall normal of the way from a to b, behind the lip: positive falls in.
double incutOf(const Eigen::Vector2d& a, const Eigen::Vector2d& b) {
  return std::atan2(a.x() - b.x(), a.y() - b.y()) * 180 / M_PI;
}

/// The part of the grip face on which a finger lies: behind the lip's arc, or, where the face is
/// all arc (a sloper), the steepest part before the root.
std::pair<double, double> contactPart(const SectionEdge& e, const EdgeOptions& o) {
  const double length = e.face_end_mm - e.arc_end_mm;
  if (length >= 1) {
    const double guard = std::min(0.1 * length, 0.5);
    return {e.arc_end_mm + guard, std::min(e.arc_end_mm + o.contact_mm, e.face_end_mm - guard)};
  }
  const double all = e.face_end_mm - e.arc_begin_mm;
  return {std::max(e.face_end_mm - o.contact_mm, e.face_end_mm - 0.6 * all), e.face_end_mm};
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
  e.root_at_mm = walk.at(reached);
  return true;
}

}  // namespace

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

namespace {

std::vector<Eigen::Vector2d> pointsIn(const OutsideLine& line, double from, double to) {
  std::vector<Eigen::Vector2d> points;
  const auto [a, b] = line.pointsBetween(from, to);
  for (std::size_t k = a; k < b; ++k) points.push_back(line.points[k].at_mm);
  return points;
}

/// A straight stretch of the line.
struct Stretch {
  double z_mm = 0;  ///< Its height at the u that was asked for.
  double facing_deg = 0;
  int count = 0;  ///< Of points.
};

/// The stretch [from, to], read at u, if it is straight.
std::optional<Stretch> straightAt(const OutsideLine& line, double from, double to, double u,
                                  double straight_mm) {
  const auto points = pointsIn(line, from, to);
  const auto fit = fitLine(points);
  if (points.size() < 4 || !fit || fit->rms_mm > straight_mm || std::abs(fit->direction.x()) < 0.5)
    return std::nullopt;
  return Stretch{
      fit->centre_mm.y() + (u - fit->centre_mm.x()) * fit->direction.y() / fit->direction.x(),
      std::atan2(-fit->direction.y(), fit->direction.x()) * 180 / M_PI,
      static_cast<int>(points.size())};
}

/// By how much a stretch turns from its first half to its second, degrees.
double bendOf(const OutsideLine& line, double from, double to) {
  const double middle = 0.5 * (from + to);
  const auto first = fitLine(pointsIn(line, from, middle)),
             second = fitLine(pointsIn(line, middle, to));
  if (!first || !second) return 180;
  const Eigen::Vector2d &a = first->direction, &b = second->direction;
  return std::atan2(a.x() * b.y() - a.y() * b.x(), a.dot(b)) * 180 / M_PI;
}

/// A lip's arc in one section, as cut, with some of the line before and behind it.
struct LipArc {
  std::vector<Eigen::Vector2d> at_mm;
  /// A point cut from the middle of a mesh edge lies inside the arc that the edge's ends lie on, by
  /// share (1 - share) L^2 / 2 r: that, outwards, times the radius r.
  std::vector<Eigen::Vector2d> outwards_mm2;
  std::size_t first = 0, last = 0;    ///< [first, last): the middle 80 % by arc length.
  double begin_deg = 0, end_deg = 0;  ///< Facing before and behind the arc.
  double by_length_mm = 0;  ///< The radius that the arc's length and turn alone speak for.
};

LipArc lipArc(const OutsideLine& line, const SectionEdge& e, const EdgeOptions& o) {
  LipArc arc;
  const double length = e.arc_end_mm - e.arc_begin_mm;
  const double turn = (e.grip_facing_deg - e.face_facing_deg) * M_PI / 180;
  arc.by_length_mm = turn > 0 ? length / turn : 0;
  arc.begin_deg = e.face_facing_deg;
  arc.end_deg = e.grip_facing_deg;
  const auto [first, last] =
      line.pointsBetween(e.arc_begin_mm + 0.1 * length, e.arc_end_mm - 0.1 * length);
  if (first == last) return arc;
  const auto [from, to] = line.pointsBetween(e.arc_begin_mm - 0.3 * length - o.kernel_mm,
                                             e.arc_end_mm + 0.3 * length + o.kernel_mm);
  arc.first = first - from;
  arc.last = last - from;
  const Eigen::Vector2d chord = line.points[last - 1].at_mm - line.points[first].at_mm;
  const Eigen::Vector2d centre =
      0.5 * (line.points[first].at_mm + line.points[last - 1].at_mm) +
      0.5 * Eigen::Vector2d(chord.y(), -chord.x()) / std::tan(std::max(0.1, 0.4 * turn));
  for (std::size_t k = from; k < to; ++k) {
    const SectionPoint& p = line.points[k];
    arc.at_mm.push_back(p.at_mm);
    const Eigen::Vector2d out = (p.at_mm - centre).normalized();
    const Eigen::Vector2d edge = o.edge_mm ? o.edge_mm(p) : Eigen::Vector2d(0, 0);
    const double along = out.x() * edge.y() - out.y() * edge.x();
    arc.outwards_mm2.emplace_back(out * (p.share * (1 - p.share) * along * along / 2));
  }
  return arc;
}

/// The arcs' points on the circles of a common radius: their middles by arc length, or, once there
/// are circles, what lies in the middle of the turn as seen from their centres. That forgives arcs
/// whose ends noise has hidden. Points cut from the middle of a mesh edge are put out to the arc.
std::vector<std::vector<Eigen::Vector2d>> arcPoints(const std::vector<LipArc>& arcs,
                                                    const CommonCircle* circles,
                                                    double margin_deg) {
  double begin = 0, end = 0;
  for (const LipArc& arc : arcs) begin += arc.begin_deg, end += arc.end_deg;
  begin /= static_cast<double>(arcs.size()), end /= static_cast<double>(arcs.size());
  const double margin = std::min(0.1 * (end - begin) + margin_deg, 0.35 * (end - begin));
  std::vector<std::vector<Eigen::Vector2d>> points(arcs.size());
  for (std::size_t a = 0; a < arcs.size(); ++a)
    for (std::size_t k = 0; k < arcs[a].at_mm.size(); ++k) {
      if (!circles) {
        if (k >= arcs[a].first && k < arcs[a].last) points[a].push_back(arcs[a].at_mm[k]);
        continue;
      }
      const Eigen::Vector2d away = arcs[a].at_mm[k] - circles->centres_mm[a];
      const double facing = std::atan2(away.x(), away.y()) * 180 / M_PI;
      const double past = std::remainder(facing - 0.5 * (begin + end), 360);
      if (std::abs(past) <= 0.5 * (end - begin) - margin)
        points[a].push_back(arcs[a].at_mm[k] + arcs[a].outwards_mm2[k] / circles->radius_mm);
    }
  return points;
}

std::optional<CommonCircle> fitArcs(std::vector<LipArc> arcs, double margin_deg) {
  const auto few = [](const std::vector<Eigen::Vector2d>& p) { return p.size() < 4; };
  if (arcs.front().last - arcs.front().first < 4) return std::nullopt;
  std::erase_if(arcs, [](const LipArc& arc) { return arc.last - arc.first < 4; });
  auto circles = fitCommonCircle(arcPoints(arcs, nullptr, margin_deg));
  for (int round = 0; round < 12 && circles; ++round) {
    const auto points = arcPoints(arcs, &*circles, margin_deg);
    if (std::any_of(points.begin(), points.end(), few)) return circles;
    const auto next = fitCommonCircle(points);
    if (!next) return circles;
    const bool still = std::abs(next->radius_mm - circles->radius_mm) < 1e-4 * next->radius_mm;
    circles = next;
    if (still) break;
  }
  return circles;
}

void fitLip(const SectionEdge& e, const EdgeOptions& o, double resolution_mm,
            const std::vector<LipArc>& arcs, EdgeFit& out) {
  const double turn = (e.grip_facing_deg - e.face_facing_deg) * M_PI / 180;
  out.lip_sweep_deg = e.grip_facing_deg - e.face_facing_deg;
  double by_length = 0;
  for (const LipArc& arc : arcs) by_length += arc.by_length_mm / static_cast<double>(arcs.size());
  const auto circle = fitArcs(arcs, o.facing_sigma_deg);
  out.sharp = !circle || std::min(circle->radius_mm, by_length) < resolution_mm;
  if (circle && circle->radius_mm < 5 * std::max(by_length, resolution_mm)) {
    out.lip_radius_mm = circle->radius_mm;
    out.lip_radius_per_mm = circle->radius_per_mm;
    out.lip_rms_mm = circle->rms_mm;
    if (!out.sharp) out.lip_centre_mm = circle->centres_mm.front();
  } else {
    out.lip_radius_mm = by_length;
    out.lip_radius_per_mm = turn > 0 ? 1 / turn : 1;
  }
  // The arc's own top, where it has one and the radius is trustworthy.
  if (circle && !out.sharp && e.face_facing_deg < 8) {
    out.lip_z_mm = circle->centres_mm.front().y() +
                   circle->radius_mm * std::cos(std::max(0.0, e.face_facing_deg) * M_PI / 180);
    // Its top lies beyond the points that the circle was fitted to: twice as uncertain as a line's.
    out.lip_points = std::max(2, static_cast<int>(arcs.front().last - arcs.front().first) / 4);
  }
}

/// Where around the lip's beginning the line first comes to u.
double runAt(const OutsideLine& line, double u, const SectionEdge& e) {
  const double length = e.arc_end_mm - e.arc_begin_mm;
  const double first = std::max(0.0, e.arc_begin_mm - 0.5 * length);
  for (double run = first; run <= e.arc_end_mm; run += 0.05)
    if (line.pointAt(run).x() >= u) return run;
  return e.lip_mm;
}

/// Length along the line. Noise makes a line longer; where there is any, the length is that of
/// straight steps between means.
double lengthAlong(const OutsideLine& line, double from, double to, const EdgeOptions& o) {
  if (o.facing_sigma_deg < 0.5 || to - from < 2 * o.kernel_mm) return to - from;
  const int steps = static_cast<int>((to - from) / o.kernel_mm);
  const double step = (to - from) / steps;
  const auto mean = [&](double run) {
    Eigen::Vector2d sum(0, 0);
    for (int k = -4; k <= 4; ++k) sum += line.pointAt(run + 0.1 * k * step) / 9;
    return sum;
  };
  double length = 0;
  for (int i = 0; i < steps; ++i)
    length += (mean(from + (i + 1) * step) - mean(from + i * step)).norm();
  return length;
}

/// Millimetres along the line a mm of height, around the 2 mm before a place.
double slantBefore(const OutsideLine& line, double run) {
  const double fall = std::abs(line.pointAt(run - 2).y() - line.pointAt(run).y());
  return std::clamp(2 / std::max(fall, 1e-3), 1.0, 3.0);
}

/// Length from the lip's outermost point to the root. Corners that the mesh cuts off are put back:
/// there the surface goes on as it comes, to the height of the lip or of the root.
double alongSurface(const OutsideLine& line, const SectionEdge& e, const EdgeOptions& o,
                    const EdgeFit& fit, const LineFit* face) {
  double from = fit.lip_centre_mm ? runAt(line, fit.lip_u_mm, e) : e.lip_mm;
  double to = e.root_mm, added = 0;
  const double inset = std::min(1.0, 0.25 * (e.face_end_mm - e.arc_end_mm));
  if (!face || inset < 0.2 || std::abs(face->direction.y()) < 0.3)
    return lengthAlong(line, from, to, o);
  if (fit.sharp) {
    from = e.arc_end_mm + inset;
    added += std::max(0.0, fit.lip_z_mm - line.pointAt(from).y()) / std::abs(face->direction.y());
  }
  if (!e.cut_short && (e.at_wall || e.root_mm - e.face_end_mm < 0.4)) {
    to = e.face_end_mm - inset;
    added += std::max(0.0, line.pointAt(to).y() - fit.root_z_mm) * slantBefore(line, to);
  }
  return lengthAlong(line, from, to, o) + added;
}

/// All numbers of one section's edge; its lip's circle has the radius of all `arcs`, the first of
/// which is its own.
EdgeFit fitWithLip(const OutsideLine& line, const SectionEdge& e, const EdgeOptions& o,
                   double resolution_mm, const std::vector<LipArc>& arcs) {
  EdgeFit out;
  const double straight_mm = 0.05 + 0.06 * resolution_mm + 0.05 * o.facing_sigma_deg;
  out.lip_u_mm = e.lip_at_mm.x();
  out.lip_z_mm = e.lip_at_mm.y();
  out.root_z_mm = e.root_at_mm.y();
  out.lip_points = out.root_points = 1;
  fitLip(e, o, resolution_mm, arcs, out);
  // A flat face before the lip and a flat rise behind the root carry their heights better than
  // single points do, and meshes cut sharp corners off.
  // Noise hides by up to its averaging window where arcs begin and end.
  const double guard = 0.3 + std::max(0.0, o.kernel_mm - std::max(0.6, resolution_mm));
  const auto face = straightAt(line, e.arc_begin_mm - guard - 4.7, e.arc_begin_mm - guard,
                               line.pointAt(e.arc_begin_mm).x(), straight_mm);
  // The top of a large arc is no flat face; its circle knows it better, unless the stretch bends
  // far less than the arc would.
  const bool large_arc =
      out.lip_points > 1 && out.lip_radius_mm > 6 &&
      std::abs(bendOf(line, e.arc_begin_mm - guard - 4.7, e.arc_begin_mm - guard)) >
          0.3 * 2.35 / out.lip_radius_mm * 180 / M_PI;
  const bool level = e.face_facing_deg > -8;
  if (!large_arc && e.face_facing_deg > -30 && face &&
      std::abs(face->z_mm - out.lip_z_mm) < 0.15 + 0.5 * resolution_mm + 3 * straight_mm &&
      (level || out.sharp)) {
    out.lip_z_mm = level ? face->z_mm : std::max(face->z_mm, out.lip_z_mm);
    out.lip_points = face->count;
  }
  if (out.lip_centre_mm) {
    const double begin_deg =
        face && std::abs(face->facing_deg) < 8 && level ? face->facing_deg : e.face_facing_deg;
    out.lip_u_mm = out.lip_centre_mm->x() +
                   out.lip_radius_mm * std::sin(std::max(0.0, begin_deg) * M_PI / 180);
  }
  const auto rise =
      straightAt(line, e.root_mm + guard, e.root_mm + guard + 3.7, e.root_at_mm.x(), straight_mm);
  if (!e.at_wall && !e.cut_short && rise &&
      std::abs(rise->z_mm - out.root_z_mm) < 0.3 + 0.7 * resolution_mm + 3 * straight_mm) {
    out.root_z_mm = rise->z_mm;
    out.root_points = rise->count;
  }
  const auto [from, to] = contactPart(e, o);
  const auto points = pointsIn(line, from, to);
  const auto grip = fitLine(points);
  out.incut_deg = e.incut_deg;
  out.incut_per_mm = 180 / M_PI / std::max(1.0, to - from);
  if (grip && points.size() >= 3) {
    out.incut_deg = std::atan2(-grip->direction.x(), -grip->direction.y()) * 180 / M_PI;
    out.incut_per_mm = grip->angle_per_mm * 180 / M_PI;
  }
  out.contact_mm = to - from;
  out.depth_mm = out.lip_z_mm - out.root_z_mm;
  out.along_mm = alongSurface(line, e, o, out, grip ? &*grip : nullptr);
  return out;
}

/// Mean of the middle half of some values, and its standard error from their scatter (which the
/// middle half shows at a third, and which neighbours a slice apart share by a third).
std::pair<double, double> middleMean(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  const std::size_t n = values.size(), cut = n / 4;
  double mean = 0;
  for (std::size_t i = cut; i < n - cut; ++i) mean += values[i] / static_cast<double>(n - 2 * cut);
  const double deviation = (values[n - 1 - cut] - values[cut]) / 1.35;
  return {mean, 1.4 * deviation / std::sqrt(static_cast<double>(n))};
}

}  // namespace

EdgeFit fitEdge(const OutsideLine& line, const SectionEdge& e, const EdgeOptions& o,
                double resolution_mm) {
  return fitWithLip(line, e, o, resolution_mm, {lipArc(line, e, o)});
}

EdgeFit fitEdgeTogether(const std::vector<EdgeCut>& cuts, double resolution_mm) {
  std::vector<LipArc> arcs;
  for (const EdgeCut& cut : cuts) arcs.push_back(lipArc(cut.line, cut.edge, cut.options));
  const EdgeCut& own = cuts.front();
  EdgeFit out = fitWithLip(own.line, own.edge, own.options, resolution_mm, arcs);
  if (cuts.size() < 4) return out;
  std::vector<double> depth = {out.depth_mm}, along = {out.along_mm}, incut = {out.incut_deg};
  for (std::size_t i = 1; i < cuts.size(); ++i) {
    const EdgeFit beside = fitEdge(cuts[i].line, cuts[i].edge, cuts[i].options, resolution_mm);
    depth.push_back(beside.depth_mm);
    along.push_back(beside.along_mm);
    incut.push_back(beside.incut_deg);
    out.lip_points += beside.lip_points;
    out.root_points += beside.root_points;
  }
  std::tie(out.depth_mm, out.depth_error_mm) = middleMean(depth);
  std::tie(out.incut_deg, out.incut_error_deg) = middleMean(incut);
  out.along_mm = middleMean(along).first;
  out.incut_per_mm /= std::sqrt(static_cast<double>(cuts.size()));
  return out;
}

}  // namespace holdshelf
