// SPDX-License-Identifier: Apache-2.0
#include "catalog/compression.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <limits>

#include "catalog/lip_contact.h"

namespace holdshelf {
namespace {

constexpr double kDeg = 3.14159265358979323846 / 180;

LipContact contactAt(const Grip& grip, double wall_angle_deg, const GripThresholds& t) {
  const LipProfile profile = profileOf(grip);
  return contactOf(profile, wall_angle_deg, t.contact_end_slope_deg,
                   std::numeric_limits<double>::max());
}

/// The squeeze goes along the wall at any wall angle, so the slope is that of the upright wall.
double squeezeSlope_deg(const Grip& grip, const GripThresholds& t) {
  return contactAt(grip, 0, t).slope_deg;
}

bool isPositive(const Grip& grip, double wall_angle_deg, const GripThresholds& t) {
  return contactAt(grip, wall_angle_deg, t).incut_deg > 0;
}

const Grip* deepestAt(const Shape& shape, double rotation_deg) {
  const Grip* deepest = nullptr;
  for (const Grip& grip : shape.grips())
    if (angleBetween_deg(grip.rotation_deg(), rotation_deg) < 2.5 &&
        (!deepest || grip.edge_depth_mm().value() > deepest->edge_depth_mm().value()))
      deepest = &grip;
  return deepest;
}

}  // namespace

double compressionFriction(double slope_deg, double askew, double wall_angle_deg, double squeeze) {
  const double tangent = std::tan(std::clamp(slope_deg, -89.0, 89.0) * kDeg);
  const double down = std::cos(wall_angle_deg * kDeg) / 2,
               out = std::sin(wall_angle_deg * kDeg) / 2;
  const double normal = (squeeze - std::abs(askew) * down - out * tangent) /
                        std::sqrt(1 + askew * askew + tangent * tangent);
  if (!(normal > 0)) return std::numeric_limits<double>::infinity();
  const double along = squeeze * squeeze + down * down + out * out - normal * normal;
  return std::sqrt(std::max(0.0, along)) / normal;
}

CompressionPair compress(const Grip& first, const Grip& second, double span_mm,
                         double wall_angle_deg, const GripThresholds& t) {
  CompressionPair pair;
  pair.set_first_deg(first.rotation_deg());
  pair.set_second_deg(second.rotation_deg());
  pair.set_span_mm(span_mm);
  pair.set_first_slope_deg(squeezeSlope_deg(first, t));
  pair.set_second_slope_deg(squeezeSlope_deg(second, t));
  const double needed =
      std::max(compressionFriction(pair.first_slope_deg(), askewAt(first, first.offset_mm()),
                                   wall_angle_deg, t.compression_squeeze),
               compressionFriction(pair.second_slope_deg(), askewAt(second, second.offset_mm()),
                                   wall_angle_deg, t.compression_squeeze));
  pair.set_friction_needed(needed);
  pair.set_holds(std::abs(needed - t.skin_friction) < t.skin_friction_sigma
                     ? GripVerdict::BORDERLINE
                 : needed < t.skin_friction ? GripVerdict::YES
                                            : GripVerdict::NO);
  char reason[160];
  std::snprintf(reason, sizeof reason,
                "faces %.0f mm apart, sloping %.0f° and %.0f°: squeezing with %.1f of body weight "
                "needs a friction of %.2f",
                span_mm, pair.first_slope_deg(), pair.second_slope_deg(), t.compression_squeeze,
                needed);
  pair.set_reason(reason);
  return pair;
}

std::vector<CompressionPair> compressionPairs(const GripModel& model, double wall_angle_deg,
                                              double shortest_mm, double longest_mm) {
  std::vector<CompressionPair> pairs;
  for (int step = 0; step < GripModel::kSteps / 2; ++step) {
    const double rotation_deg = step * 360.0 / GripModel::kSteps;
    const Grip* first = deepestAt(model.shape(), rotation_deg);
    const Grip* second = deepestAt(model.shape(), rotation_deg + 180);
    if (!first || !second) continue;
    const double span_mm = first->lip_height_mm() + second->lip_height_mm();
    if (span_mm < shortest_mm || span_mm > longest_mm) continue;
    const GripThresholds& t = model.thresholds();
    if (isPositive(*first, wall_angle_deg, t) || isPositive(*second, wall_angle_deg, t)) continue;
    pairs.push_back(compress(*first, *second, span_mm, wall_angle_deg, model.thresholds()));
  }
  std::stable_sort(pairs.begin(), pairs.end(), [](const auto& a, const auto& b) {
    return a.friction_needed() < b.friction_needed();
  });
  return pairs;
}

}  // namespace holdshelf
