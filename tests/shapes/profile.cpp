// SPDX-License-Identifier: Apache-2.0
#include "tests/shapes/profile.h"

#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace holdshelf {
namespace {

double cross(const Eigen::Vector2d& a, const Eigen::Vector2d& b) {
  return a.x() * b.y() - a.y() * b.x();
}

double segmentDistance(const Eigen::Vector2d& p, const Eigen::Vector2d& a,
                       const Eigen::Vector2d& b) {
  const Eigen::Vector2d d = b - a;
  const double length2 = d.squaredNorm();
  const double t = length2 > 0 ? std::clamp((p - a).dot(d) / length2, 0.0, 1.0) : 0.0;
  return (p - a - t * d).norm();
}

/// Does p lie in the wedge that the arc (less than half a turn) sweeps around its centre?
bool inWedge(const Profile::Arc& arc, const Eigen::Vector2d& p) {
  const Eigen::Vector2d a = arc.from_mm - arc.centre_mm, b = arc.to_mm - arc.centre_mm;
  const Eigen::Vector2d q = p - arc.centre_mm;
  const double turn = cross(a, b) < 0 ? -1 : 1;
  return turn * cross(a, q) >= 0 && turn * cross(q, b) >= 0;
}

Profile::Arc fillet(const Eigen::Vector2d& before, const ProfileCorner& corner,
                    const Eigen::Vector2d& after) {
  const Eigen::Vector2d in = (corner.at_mm - before).normalized();
  const Eigen::Vector2d out = (after - corner.at_mm).normalized();
  const double turn = std::atan2(cross(in, out), in.dot(out));
  const double tangent = corner.radius_mm * std::tan(std::abs(turn) / 2);
  Profile::Arc arc;
  arc.from_mm = corner.at_mm - tangent * in;
  arc.to_mm = corner.at_mm + tangent * out;
  const Eigen::Vector2d left(-in.y(), in.x());
  arc.centre_mm = arc.from_mm + (turn >= 0 ? 1 : -1) * corner.radius_mm * left;
  arc.radius_mm = corner.radius_mm;
  arc.convex = turn >= 0;
  return arc;
}

}  // namespace

Profile::Profile(const std::vector<ProfileCorner>& corners) {
  const std::size_t n = corners.size();
  if (n < 3) throw std::invalid_argument("Profile: fewer than 3 corners");
  for (std::size_t i = 0; i < n; ++i)
    arcs_.push_back(fillet(corners[(i + n - 1) % n].at_mm, corners[i], corners[(i + 1) % n].at_mm));
  for (std::size_t i = 0; i < n; ++i) {
    const std::size_t next = (i + 1) % n;
    const Eigen::Vector2d side = corners[next].at_mm - corners[i].at_mm;
    if ((arcs_[next].from_mm - arcs_[i].to_mm).dot(side) < -1e-9)
      throw std::invalid_argument("Profile: the arcs at both ends of a side overlap");
  }
}

double Profile::operator()(const Eigen::Vector2d& p_mm) const {
  double distance = INFINITY;
  bool inside = false;
  const auto crossing = [&](const Eigen::Vector2d& a, const Eigen::Vector2d& b) {
    if ((a.y() > p_mm.y()) == (b.y() > p_mm.y())) return;
    if (p_mm.x() < a.x() + (p_mm.y() - a.y()) / (b.y() - a.y()) * (b.x() - a.x())) inside = !inside;
  };
  for (std::size_t i = 0; i < arcs_.size(); ++i) {
    const Arc& arc = arcs_[i];
    const Arc& next = arcs_[i + 1 == arcs_.size() ? 0 : i + 1];
    distance = std::min(distance, segmentDistance(p_mm, arc.to_mm, next.from_mm));
    crossing(arc.to_mm, next.from_mm);
    if (arc.radius_mm == 0) continue;
    const double from_centre = (p_mm - arc.centre_mm).norm();
    if (inWedge(arc, p_mm)) distance = std::min(distance, std::abs(from_centre - arc.radius_mm));
    // Inside of the outline with the arc's chord, then the piece between chord and arc toggled.
    crossing(arc.from_mm, arc.to_mm);
    const Eigen::Vector2d chord = arc.to_mm - arc.from_mm;
    const double side = cross(chord, p_mm - arc.from_mm);
    if (from_centre < arc.radius_mm && (arc.convex ? side < 0 : side > 0)) inside = !inside;
  }
  return inside ? -distance : distance;
}

double Profile::area_mm2() const {
  double area = 0;
  for (std::size_t i = 0; i < arcs_.size(); ++i) {
    const Arc& arc = arcs_[i];
    const Arc& next = arcs_[(i + 1) % arcs_.size()];
    area += (cross(arc.from_mm, arc.to_mm) + cross(arc.to_mm, next.from_mm)) / 2;
    if (arc.radius_mm == 0) continue;
    const double half_chord = (arc.to_mm - arc.from_mm).norm() / 2;
    const double sweep = 2 * std::asin(std::min(1.0, half_chord / arc.radius_mm));
    const double piece = arc.radius_mm * arc.radius_mm * (sweep - std::sin(sweep)) / 2;
    area += arc.convex ? piece : -piece;
  }
  return area;
}

double Profile::length_mm() const {
  double length = 0;
  for (std::size_t i = 0; i < arcs_.size(); ++i) {
    const Arc& arc = arcs_[i];
    length += (arcs_[(i + 1) % arcs_.size()].from_mm - arc.to_mm).norm();
    if (arc.radius_mm == 0) continue;
    const double half_chord = (arc.to_mm - arc.from_mm).norm() / 2;
    length += 2 * arc.radius_mm * std::asin(std::min(1.0, half_chord / arc.radius_mm));
  }
  return length;
}

}  // namespace holdshelf
