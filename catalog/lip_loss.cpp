// SPDX-License-Identifier: Apache-2.0
#include "catalog/lip_loss.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "mesh/section.h"

namespace holdshelf {
namespace {

using Eigen::Vector3d;

constexpr double kLeastTurn_deg = 50, kMostTurn_deg = 130;  // A lip's arc, out of noise.
constexpr double kLeastLength_mm = 12;
constexpr double kPatchArea_mm2 = 60;  // Patch means this far apart err by themselves.
constexpr double kCommonShare = 0.5;   // Of the spread: an offset that all of the lip shares.
constexpr double kLipJump_mm = 3;      // From place to place along one lip.

/// Height of the lip over the run's offset, or NaN beside it.
class LipLine {
 public:
  explicit LipLine(const Grip& grip) {
    const double least =
        grip.width_depth_mm() > 0 ? grip.width_depth_mm() / 2 : grip.edge_depth_mm().value() / 2;
    for (const EdgePlace& place : grip.run()) {
      if (place.depth_mm() < least) continue;
      const bool jumps =
          !places_.empty() && std::abs(place.lip_height_mm() - places_.back().y()) > kLipJump_mm;
      // The part of the run that the grip's own section is in.
      if (jumps && place.offset_mm() > grip.offset_mm()) break;
      if (jumps) places_.clear();
      places_.emplace_back(place.offset_mm(), place.lip_height_mm());
    }
  }

  double length_mm() const {
    double length = 0;
    for (std::size_t i = 1; i < places_.size(); ++i) length += (places_[i] - places_[i - 1]).norm();
    return length;
  }

  double heightAt(double offset_mm) const {
    for (std::size_t i = 1; i < places_.size(); ++i) {
      const Eigen::Vector2d &a = places_[i - 1], &b = places_[i];
      if (offset_mm < a.x() || offset_mm > b.x() || !(b.x() > a.x())) continue;
      return a.y() + (b.y() - a.y()) * (offset_mm - a.x()) / (b.x() - a.x());
    }
    return std::nan("");
  }

 private:
  std::vector<Eigen::Vector2d> places_;  // Offset, lip height.
};

std::vector<double> vertexAreas(const TriangleMesh& mesh) {
  std::vector<double> areas(mesh.vertices_mm.size(), 0);
  for (const auto& t : mesh.triangles) {
    const Vector3d& a = mesh.vertices_mm[static_cast<std::size_t>(t[0])];
    const double third = (mesh.vertices_mm[static_cast<std::size_t>(t[1])] - a)
                             .cross(mesh.vertices_mm[static_cast<std::size_t>(t[2])] - a)
                             .norm() /
                         6;
    for (const auto corner : t) areas[static_cast<std::size_t>(corner)] += third;
  }
  return areas;
}

}  // namespace

std::optional<LipLoss> lipLoss(const TriangleMesh& baseline, const Deviation& deviation,
                               const Grip& grip) {
  if (!grip.has_lip_radius_mm() || grip.lip_sweep_deg() < kLeastTurn_deg) return std::nullopt;
  const LipLine lip(grip);
  LipLoss loss;
  loss.length_mm = lip.length_mm();
  if (loss.length_mm < kLeastLength_mm) return std::nullopt;
  const double radius = grip.lip_radius_mm().value(), reach = 1.3 * radius + 2;
  const PlaneFamily planes = pullPlanes(grip.rotation_deg());
  const std::vector<double> areas = vertexAreas(baseline);
  double lost = 0, area = 0;
  for (std::size_t i = 0; i < deviation.signed_mm.size(); ++i) {
    if (std::isnan(deviation.signed_mm[i])) continue;
    const Vector3d& p = baseline.vertices_mm[i];
    const double height = lip.heightAt(p.dot(planes.normal));
    if (std::isnan(height) ||
        std::hypot(p.dot(planes.right) - height, p.z() - grip.lip_z_mm()) > reach)
      continue;
    lost -= areas[i] * deviation.signed_mm[i];
    area += areas[i];
  }
  if (area < 2 * kPatchArea_mm2) return std::nullopt;
  const double patches = std::max(1.0, area / kPatchArea_mm2);
  loss.lost_mm3.set_value(lost);
  loss.lost_mm3.set_sigma(deviation.spread_mm * area *
                          std::hypot(kCommonShare, 1 / std::sqrt(patches)));
  const double turn =
      std::clamp(grip.lip_sweep_deg(), kLeastTurn_deg, kMostTurn_deg) * std::numbers::pi / 180;
  const double share = (std::tan(turn / 2) - turn / 2) * loss.length_mm;
  const double now = std::sqrt(std::max(0.0, radius * radius + lost / share));
  loss.growth_mm.set_value(now - radius);
  loss.growth_mm.set_sigma(loss.lost_mm3.sigma() / share / (2 * std::max(now, radius)));
  return loss;
}

}  // namespace holdshelf
