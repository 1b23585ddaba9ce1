// SPDX-License-Identifier: Apache-2.0
#include "catalog/lip_growth.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "catalog/lip_loss.h"
#include "mesh/section.h"

namespace holdshelf {
namespace {

constexpr double kLipReach_mm = 6;  // Around a lip, where its loss is looked for.
// A square corner rounded by a further dr loses 0.41 dr at its middle; the patch mean shows less.
constexpr double kLossPerGrowth = 0.1;

Measured difference(const Measured& now, const Measured& before) {
  Measured d;
  d.set_value(now.value() - before.value());
  d.set_sigma(std::hypot(now.sigma(), before.sigma()));
  return d;
}

std::map<int, const Grip*> byRotation(const Shape& shape) {
  std::map<int, const Grip*> grips;
  for (const Grip& grip : shape.grips())
    grips[static_cast<int>(std::lround(grip.rotation_deg()))] = &grip;
  return grips;
}

/// Where a grip's lip lies, frame H.
Eigen::Vector3d lipPlace(const Grip& grip) {
  const PlaneFamily planes = pullPlanes(grip.rotation_deg());
  return grip.lip_height_mm() * planes.right + grip.lip_z_mm() * planes.up +
         grip.offset_mm() * planes.normal;
}

/// The deepest loss of the surface around a place; 0 where none is lost.
double lossNear(const TriangleMesh& mesh, const Deviation& deviation,
                const Eigen::Vector3d& place) {
  double loss = 0;
  for (std::size_t i = 0; i < deviation.signed_mm.size(); ++i)
    if ((mesh.vertices_mm[i] - place).squaredNorm() < kLipReach_mm * kLipReach_mm)
      loss = std::max(loss, -static_cast<double>(deviation.signed_mm[i]));
  return loss;
}

/// A fitted radius can jump between two readings of one shape; a lip that wore has also lost
/// material, which the deviation map shows or not.
bool grew(const LipChange& lip, double loss_mm, double limit_mm, double sigmas) {
  const Measured& growth = lip.radius_growth_mm();
  return growth.value() > sigmas * growth.sigma() &&
         loss_mm > std::max(limit_mm, kLossPerGrowth * growth.value());
}

void addLips(const TriangleMesh& baseline, const Deviation& deviation, const Shape& before,
             const Shape& now, Wear& wear) {
  const auto old_grips = byRotation(before), new_grips = byRotation(now);
  for (const auto& [rotation, old_grip] : old_grips) {
    const auto found = new_grips.find(rotation);
    // Lips that are not the same place, or too sharp to have a radius, say nothing of wear.
    if (found == new_grips.end()) continue;
    const Grip& grip = *found->second;
    const bool same_lip = std::abs(grip.lip_height_mm() - old_grip->lip_height_mm()) < 4 &&
                          std::abs(grip.lip_z_mm() - old_grip->lip_z_mm()) < 4;
    if (!same_lip || !grip.has_lip_radius_mm() || !old_grip->has_lip_radius_mm()) continue;
    LipChange& lip = *wear.add_lips();
    lip.set_rotation_deg(rotation);
    *lip.mutable_fitted_growth_mm() = difference(grip.lip_radius_mm(), old_grip->lip_radius_mm());
    *lip.mutable_radius_growth_mm() = lip.fitted_growth_mm();
    if (const auto loss = lipLoss(baseline, deviation, *old_grip)) {
      *lip.mutable_radius_growth_mm() = loss->growth_mm;
      *lip.mutable_lost_mm3() = loss->lost_mm3;
    }
    *lip.mutable_depth_change_mm() = difference(grip.edge_depth_mm(), old_grip->edge_depth_mm());
    *lip.mutable_incut_change_deg() = difference(grip.incut_deg(), old_grip->incut_deg());
  }
}

/// One rotation of many is beyond any limit by chance now and then, but its neighbours are not.
void markSure(const TriangleMesh& mesh, const Shape& before, const Deviation& deviation,
              double sigmas, Wear& wear) {
  const auto grips = byRotation(before);
  std::map<int, bool> beyond;
  for (const LipChange& lip : wear.lips()) {
    const int rotation = static_cast<int>(std::lround(lip.rotation_deg()));
    const double loss = lossNear(mesh, deviation, lipPlace(*grips.at(rotation)));
    beyond[rotation] = grew(lip, loss, deviation.limit_mm, sigmas);
  }
  const auto at = [&](int rotation) {
    const auto found = beyond.find((rotation + 360) % 360);
    return found != beyond.end() && found->second;
  };
  for (LipChange& lip : *wear.mutable_lips()) {
    const int rotation = static_cast<int>(std::lround(lip.rotation_deg()));
    lip.set_sure(at(rotation) && (at(rotation - 5) || at(rotation + 5)));
  }
}

}  // namespace

void addLipGrowth(const TriangleMesh& baseline, const Deviation& deviation, const Shape& before,
                  const Shape& now, double sure_sigmas, Wear& wear) {
  addLips(baseline, deviation, before, now, wear);
  markSure(baseline, before, deviation, sure_sigmas, wear);
}

}  // namespace holdshelf
