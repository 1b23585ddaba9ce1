// SPDX-License-Identifier: Apache-2.0
#include "mesh/tangent_step.h"

#include <tbb/parallel_for.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <limits>

namespace holdshelf {
namespace {

using Eigen::Isometry3d;
using Eigen::Vector3d;
using Matrix7d = Eigen::Matrix<double, 7, 7>;
using Vector7d = Eigen::Matrix<double, 7, 1>;

constexpr double kNone = std::numeric_limits<double>::quiet_NaN();
constexpr double kArms = 2;  // Points lie no farther from the centre, in sizes, but on thin blades.
// The nearest point's distance is reckoned in single precision.
constexpr double kBoundSlack_mm = 1e-3;

double tukey(double residual, double width) {
  const double x = residual / width;
  return std::abs(x) >= 1 ? 0 : (1 - x * x) * (1 - x * x);
}

double median(std::vector<double>& values) {
  if (values.empty()) return std::numeric_limits<double>::infinity();
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

/// Finds where the points lie on the surface now.
void pair(const RegistrationTarget& surface, const std::vector<Vector3d>& points_mm,
          const Isometry3d& T, Pairing& pairs) {
  tbb::parallel_for(std::size_t{0}, points_mm.size(), [&](std::size_t i) {
    const Vector3d p = T * points_mm[i];
    const bool known = pairs.normal[i].allFinite();
    const double within_mm = (p - pairs.moved[i] + pairs.offset[i]).norm() + kBoundSlack_mm;
    pairs.moved[i] = p;
    const auto hit =
        known ? surface.scene.closestPoint(p, within_mm) : surface.scene.closestPoint(p);
    pairs.offset[i] = hit ? Vector3d(p - hit->point_mm) : Vector3d::Constant(1e9);
    pairs.normal[i] = Vector3d::Constant(kNone);
    if (!hit) return;
    const auto& t = surface.mesh.triangles[static_cast<std::size_t>(hit->triangle)];
    const Vector3d& o = surface.mesh.vertices_mm[static_cast<std::size_t>(t[0])];
    pairs.normal[i] = (surface.mesh.vertices_mm[static_cast<std::size_t>(t[1])] - o)
                          .cross(surface.mesh.vertices_mm[static_cast<std::size_t>(t[2])] - o)
                          .normalized();
  });
}

}  // namespace

Pairing::Pairing(std::size_t points)
    : moved(points), offset(points), normal(points, Vector3d::Constant(kNone)) {}

TangentStep tangentStep(const RegistrationTarget& surface, const std::vector<Vector3d>& points_mm,
                        double gentle_mm, Pairing& pairs, Isometry3d& T, double* growth) {
  pair(surface, points_mm, T, pairs);
  std::vector<double> distances;
  for (const Vector3d& offset : pairs.offset) distances.push_back(offset.norm());
  const double middle = median(distances);
  // Wide while far from home, tight at home.
  const double width = std::max(gentle_mm * 2, 4.685 * 1.4826 * middle);
  Matrix7d H = Matrix7d::Identity() * 1e-9;
  Vector7d g = Vector7d::Zero();
  const Vector3d pivot = T.translation();
  for (std::size_t i = 0; i < pairs.moved.size(); ++i) {
    const double weight = tukey(pairs.offset[i].norm(), width);
    if (weight == 0 || !pairs.normal[i].allFinite()) continue;
    const Vector3d arm = pairs.moved[i] - pivot;
    Vector7d J;
    J << arm.cross(pairs.normal[i]), pairs.normal[i], growth ? arm.dot(pairs.normal[i]) : 0;
    H += weight * J * J.transpose();
    g += weight * J * pairs.normal[i].dot(pairs.offset[i]);
  }
  const Vector7d delta = -H.ldlt().solve(g);
  if (!delta.allFinite()) return {middle, 0};
  const double angle = delta.head<3>().norm();
  Isometry3d move = Isometry3d::Identity();
  if (angle > 0)
    move.linear() = Eigen::AngleAxisd(angle, delta.head<3>() / angle).toRotationMatrix();
  move.translation() = pivot + delta.segment<3>(3) - move.linear() * pivot;
  T = move * T;
  if (growth) *growth *= std::clamp(1 + delta[6], 0.98, 1.02);
  return {middle, delta.segment<3>(3).norm() +
                      kArms * surface.signature.size_mm * (angle + std::abs(delta[6]))};
}

}  // namespace holdshelf
