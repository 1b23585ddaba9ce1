// SPDX-License-Identifier: Apache-2.0
#include "mesh/plane_cut.h"

#include <Eigen/Geometry>
#include <cmath>
#include <cstdio>

#include "mesh/bad_input.h"
#include "mesh/section.h"

namespace holdshelf {
namespace {

/// The section's y as close to the hold's z as the plane allows; in a plane parallel to the wall,
/// to the hold's y.
PlaneFamily axesIn(const Eigen::Vector3d& normal) {
  PlaneFamily plane;
  plane.normal = normal;
  const bool at_wall = std::abs(normal.z()) > 0.999;
  const Eigen::Vector3d wish = at_wall ? Eigen::Vector3d::UnitY() : Eigen::Vector3d::UnitZ();
  plane.up = (wish - wish.dot(normal) * normal).normalized();
  plane.right = plane.up.cross(normal);
  return plane;
}

void refuseMiss(const TriangleMesh& mesh, const Eigen::Vector3d& normal, double offset_mm) {
  const auto [low, high] = reachAlong(mesh, normal);
  char text[160];
  std::snprintf(text, sizeof text,
                "The plane at %.1f mm misses the hold, which along its normal reaches from %.1f to "
                "%.1f mm.",
                offset_mm, low, high);
  throw BadInput(text);
}

}  // namespace

PlaneCut cutByPlane(const TriangleMesh& mesh, const MeshTopology& topology,
                    const Eigen::Vector3d& normal, double offset_mm) {
  if (!(normal.norm() > 1e-9 && normal.allFinite() && std::isfinite(offset_mm)))
    throw BadInput("A plane needs a normal that is not 0,0,0 and an offset in mm.");
  const PlaneFamily plane = axesIn(normal.normalized());
  const SectionLines lines = SectionCutter(mesh, topology).cutOne(plane, offset_mm);
  if (lines.empty()) refuseMiss(mesh, plane.normal, offset_mm);
  PlaneCut cut;
  cut.set_normal_x(plane.normal.x());
  cut.set_normal_y(plane.normal.y());
  cut.set_normal_z(plane.normal.z());
  cut.set_offset_mm(offset_mm);
  double length = 0, area = 0;
  for (const SectionLine& line : lines) {
    CutLine* out = cut.add_lines();
    out->set_closed(line.closed);
    const std::size_t n = line.points.size();
    for (std::size_t i = 0; i < n; ++i) {
      const Eigen::Vector2d& p = line.points[i].at_mm;
      Point2* point = out->add_points_mm();
      point->set_x(p.x());
      point->set_y(p.y());
      if (i + 1 == n && !line.closed) break;
      const Eigen::Vector2d& q = line.points[(i + 1) % n].at_mm;
      length += (q - p).norm();
      if (line.closed) area -= 0.5 * (p.x() * q.y() - p.y() * q.x());  // The solid to the right.
    }
  }
  cut.set_length_mm(length);
  cut.set_area_mm2(area);
  return cut;
}

}  // namespace holdshelf
