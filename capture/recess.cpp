// SPDX-License-Identifier: Apache-2.0
#include "capture/recess.h"

#include <algorithm>
#include <cmath>

namespace holdshelf {
namespace {

using Eigen::Vector2d;
using Eigen::Vector3d;

constexpr double kRimGap_mm = 0.4;  ///< Rays pass the rim by so much at least.

}  // namespace

double Recess::lowestRim_mm() const {
  return rim_mm.empty() ? 0 : *std::min_element(rim_mm.begin(), rim_mm.end());
}

double Recess::rimAt_mm(double azimuth_rad) const {
  const double turn = azimuth_rad / (2 * M_PI), n = static_cast<double>(rim_mm.size());
  const double at = (turn - std::floor(turn)) * n;
  const auto low = static_cast<std::size_t>(at) % rim_mm.size();
  // The higher of the two beside it: a ray that touches the rim does not count as free.
  return std::max(rim_mm[low], rim_mm[(low + 1) % rim_mm.size()]);
}

bool seenInRecess(const Recess& recess, const RayScene& hold, const Vector3d& point_mm,
                  const Vector3d& eye_mm) {
  const Vector3d d = (eye_mm - point_mm).normalized();
  const Vector2d from = point_mm.head<2>() - recess.axis_mm, along = d.head<2>();
  const double a = along.squaredNorm(), b = from.dot(along),
               c = from.squaredNorm() - std::pow(recess.radius_mm - kRimGap_mm, 2);
  Vector3d leaves = point_mm;
  if (a > 1e-9) {
    if (c > 0) return false;
    leaves = point_mm + d * ((-b + std::sqrt(b * b - a * c)) / a);
    const Vector2d at = leaves.head<2>() - recess.axis_mm;
    if (leaves.z() < recess.rimAt_mm(std::atan2(at.y(), at.x())) + kRimGap_mm) return false;
  } else {
    leaves.z() = recess.rim_mm.empty()
                     ? point_mm.z()
                     : *std::max_element(recess.rim_mm.begin(), recess.rim_mm.end()) + kRimGap_mm;
  }
  return !hold.occluded(leaves, eye_mm, 0.2);
}

}  // namespace holdshelf
