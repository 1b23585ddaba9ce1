// SPDX-License-Identifier: Apache-2.0
#include "mesh/lip_arc.h"

#include <algorithm>
#include <cmath>

namespace holdshelf {
namespace {

/// The arcs' points: their middles by arc length, or, once there are circles, what lies in the
/// middle of the turn as seen from their centres. Points cut from the middle of a mesh edge are put
/// out to the arc.
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

}  // namespace

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

std::optional<CommonCircle> fitLipArcs(std::vector<LipArc> arcs, double margin_deg) {
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

}  // namespace holdshelf
