// SPDX-License-Identifier: Apache-2.0
#include "mesh/edge_fit.h"

#include <algorithm>
#include <cmath>
#include <tuple>

#include "mesh/circle_fit.h"
#include "mesh/lip_arc.h"

namespace holdshelf {
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

void fitLip(const SectionEdge& e, const EdgeOptions& o, double resolution_mm,
            const std::vector<LipArc>& arcs, EdgeFit& out) {
  const double turn = (e.grip_facing_deg - e.face_facing_deg) * M_PI / 180;
  out.lip_sweep_deg = e.grip_facing_deg - e.face_facing_deg;
  double by_length = 0;
  for (const LipArc& arc : arcs) by_length += arc.by_length_mm / static_cast<double>(arcs.size());
  const auto circle = fitLipArcs(arcs, o.facing_sigma_deg);
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

/// Where the root's turn ends on the rise. A round between two straight lines is shorter than the
/// way by their corner: by q (2 tan(T/2) - T) for a radius q and a turn T, which gives q, and with
/// it the end, q tan(T/2) behind the corner. Single points say it badly, as the line leaves the
/// rise by so little.
double rootEnd(const OutsideLine& line, const SectionEdge& e, const EdgeOptions& o, double guard,
               const LineFit& face) {
  const double p_run = e.face_end_mm - std::min(1.0, 0.25 * (e.face_end_mm - e.arc_end_mm)),
               q_run = e.root_mm + guard;
  const auto rise = fitLine(pointsIn(line, q_run, q_run + 3.7));
  const Eigen::Vector2d p = line.pointAt(p_run), q = line.pointAt(q_run);
  const auto off = [](const LineFit& l, const Eigen::Vector2d& at) {
    const Eigen::Vector2d d = at - l.centre_mm;
    return std::abs(l.direction.x() * d.y() - l.direction.y() * d.x());
  };
  if (!rise || off(face, p) > 0.1 + 0.1 * o.kernel_mm || off(*rise, q) > 0.1 + 0.1 * o.kernel_mm)
    return e.root_mm;
  const Eigen::Vector2d &f = face.direction, &r = rise->direction;
  const double cross = f.x() * r.y() - f.y() * r.x();
  const double turn = std::atan2(std::abs(cross), f.dot(r));
  if (std::abs(cross) < 0.2) return e.root_mm;
  const Eigen::Vector2d to = rise->centre_mm - face.centre_mm;
  const Eigen::Vector2d corner = face.centre_mm + f * ((to.x() * r.y() - to.y() * r.x()) / cross);
  const double saved =
      (corner - p).norm() + (q - corner).norm() - lengthAlong(line, p_run, q_run, o);
  const double tangent =
      std::max(0.0, saved) / (2 * std::tan(turn / 2) - turn) * std::tan(turn / 2);
  const double end = q_run - ((q - corner).norm() - tangent);
  return std::abs(end - e.root_mm) < 2 + o.kernel_mm ? end : e.root_mm;
}

/// Length from the lip's outermost point to the root. Corners that the mesh cuts off are put back:
/// there the surface goes on as it comes, to the height of the lip or of the root.
double alongSurface(const OutsideLine& line, const SectionEdge& e, const EdgeOptions& o,
                    const EdgeFit& fit, double guard, const LineFit* face) {
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
  } else if (!e.cut_short) {
    to = rootEnd(line, e, o, guard, *face);
  }
  return lengthAlong(line, from, to, o) + added;
}

/// The incut of the part that a finger lies on, and how far that part bends. @return  Its line.
std::optional<LineFit> fitContact(const OutsideLine& line, const SectionEdge& e,
                                  const EdgeOptions& o, EdgeFit& out) {
  const auto [from, to] = contactPart(e, o);
  const auto points = pointsIn(line, from, to);
  auto grip = fitLine(points);
  out.incut_deg = e.incut_deg;
  out.incut_per_mm = 180 / M_PI / std::max(1.0, to - from);
  if (grip && points.size() >= 3) {
    out.incut_deg = std::atan2(-grip->direction.x(), -grip->direction.y()) * 180 / M_PI;
    out.incut_per_mm = grip->angle_per_mm * 180 / M_PI;
  }
  out.contact_mm = to - from;
  if (points.size() >= 8)
    out.contact_bend_deg_per_mm = std::abs(bendOf(line, from, to)) / (0.5 * (to - from));
  return grip;
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
  const auto grip = fitContact(line, e, o, out);
  out.depth_mm = out.lip_z_mm - out.root_z_mm;
  out.along_mm = alongSurface(line, e, o, out, guard, grip ? &*grip : nullptr);
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
  arcs.reserve(cuts.size());
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
