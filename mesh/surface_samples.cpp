// SPDX-License-Identifier: Apache-2.0
#include "mesh/surface_samples.h"

#include <Eigen/Geometry>
#include <cmath>

namespace holdshelf {
namespace {

using Eigen::Vector3d;

/// A point of the triangle from two numbers in [0, 1), even over the area.
Vector3d within(const Vector3d& a, const Vector3d& b, const Vector3d& c, double u, double v) {
  const double root = std::sqrt(u);
  return (1 - root) * a + root * (1 - v) * b + root * v * c;
}

double fraction(double x) { return x - std::floor(x); }

}  // namespace

SurfaceSamples sampleSurface(const TriangleMesh& mesh, std::size_t count, double above_z_mm) {
  // The plastic number's sequence (Roberts 2018): even in the unit square for any length.
  constexpr double kStepU = 0.7548776662466927, kStepV = 0.5698402909980532;
  const auto corner = [&](const Eigen::Vector3i& t, int i) {
    return mesh.vertices_mm[static_cast<std::size_t>(t[i])];
  };
  double total = 0;
  for (const auto& t : mesh.triangles) {
    const Vector3d a = corner(t, 0), b = corner(t, 1), c = corner(t, 2);
    if ((a + b + c).z() / 3 > above_z_mm) total += (b - a).cross(c - a).norm() / 2;
  }
  SurfaceSamples samples;
  if (!(total > 0) || count == 0) return samples;
  samples.area_mm2 = total / static_cast<double>(count);
  double owed = 0.5 * samples.area_mm2;
  double u = 0.5, v = 0.5;
  for (const auto& t : mesh.triangles) {
    const Vector3d a = corner(t, 0), b = corner(t, 1), c = corner(t, 2);
    if ((a + b + c).z() / 3 <= above_z_mm) continue;
    const Vector3d cross = (b - a).cross(c - a);
    owed += cross.norm() / 2;
    for (; owed >= samples.area_mm2; owed -= samples.area_mm2) {
      u = fraction(u + kStepU);
      v = fraction(v + kStepV);
      samples.points_mm.push_back(within(a, b, c, u, v));
      samples.normals.push_back(cross.normalized());
    }
  }
  return samples;
}

}  // namespace holdshelf
