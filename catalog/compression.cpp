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

/// Incut for the pull beyond its uncertainty.
bool isPositive(const Grip& grip, double wall_angle_deg, const GripThresholds& t) {
  return contactAt(grip, wall_angle_deg, t).incut_deg > grip.incut_deg().sigma();
}

/// A face under one hand.
struct SqueezedFace {
  double slope_deg = 0;  ///< The squeeze goes along the wall, so as on an upright wall.
  double friction = 0, sigma = 0;
};

SqueezedFace squeezed(const Grip& grip, double wall_angle_deg, const GripThresholds& t) {
  const double askew = askewAt(grip, grip.offset_mm());
  const auto needed = [&](double slope_deg) {
    return compressionFriction(slope_deg, askew, wall_angle_deg, t.compression_squeeze);
  };
  SqueezedFace face;
  face.slope_deg = contactAt(grip, 0, t).slope_deg;
  face.friction = needed(face.slope_deg);
  const double steeper = needed(face.slope_deg + grip.incut_deg().sigma());
  face.sigma = std::isfinite(steeper) ? std::abs(steeper - face.friction) : face.friction;
  return face;
}

const Grip* deepestAt(const Shape& shape, double rotation_deg) {
  const Grip* deepest = nullptr;
  for (const Grip& grip : shape.grips())
    if (angleBetween_deg(grip.rotation_deg(), rotation_deg) < 2.5 &&
        (!deepest || grip.edge_depth_mm().value() > deepest->edge_depth_mm().value()))
      deepest = &grip;
  return deepest;
}

/// The faces that are not positive and need less friction than their neighbours around.
std::vector<const Grip*> easiestFaces(const GripModel& model, double wall_angle_deg) {
  constexpr int n = GripModel::kSteps;
  const GripThresholds& t = model.thresholds();
  std::vector<const Grip*> faces(n);
  std::vector<double> friction(n, std::numeric_limits<double>::infinity());
  for (std::size_t i = 0; i < n; ++i) {
    faces[i] = deepestAt(model.shape(), static_cast<double>(i) * 360.0 / n);
    if (faces[i] && !isPositive(*faces[i], wall_angle_deg, t))
      friction[i] = squeezed(*faces[i], wall_angle_deg, t).friction;
  }
  std::vector<const Grip*> easiest;
  for (std::size_t i = 0; i < n; ++i)
    if (std::isfinite(friction[i]) && friction[i] <= friction[(i + 1) % n] &&
        friction[i] < friction[(i + n - 1) % n])
      easiest.push_back(faces[i]);
  return easiest;
}

template <typename... Values>
std::string text(const char* format, Values... values) {
  char buffer[240];
  std::snprintf(buffer, sizeof buffer, format, values...);
  return buffer;
}

std::string slopeText(double slope_deg) {
  if (slope_deg > 0.5) return text("sloping %.0f°", slope_deg);
  if (slope_deg < -0.5) return text("incut %.0f°", -slope_deg);
  return "square";
}

std::string reasonOf(const CompressionPair& pair, const GripThresholds& t) {
  const std::string faces = text("faces %.0f mm apart, ", pair.span_mm()) +
                            slopeText(pair.first_slope_deg()) + " and " +
                            slopeText(pair.second_slope_deg());
  if (!std::isfinite(pair.friction_needed())) return faces + ": squeezing pushes the hands off";
  const std::string sigma =
      pair.friction_sigma() < 0.005 ? "<0.01" : text("%.2f", pair.friction_sigma());
  return faces +
         text(": squeezing with %.1f of body weight needs a friction of %.2f ± ",
              t.compression_squeeze, pair.friction_needed()) +
         sigma;
}

void sortByFriction(std::vector<CompressionPair>& pairs) {
  std::stable_sort(pairs.begin(), pairs.end(), [](const auto& a, const auto& b) {
    return a.friction_needed() < b.friction_needed();
  });
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
  const SqueezedFace left = squeezed(first, wall_angle_deg, t),
                     right = squeezed(second, wall_angle_deg, t);
  const SqueezedFace& worse = left.friction > right.friction ? left : right;
  CompressionPair pair;
  pair.set_first_deg(first.rotation_deg());
  pair.set_second_deg(second.rotation_deg());
  pair.set_first_rotation_deg(wrap360(first.rotation_deg() + 90));
  pair.set_second_rotation_deg(wrap360(second.rotation_deg() - 90));
  pair.set_span_mm(span_mm);
  pair.set_first_slope_deg(left.slope_deg);
  pair.set_second_slope_deg(right.slope_deg);
  pair.set_friction_needed(worse.friction);
  pair.set_friction_sigma(worse.sigma);
  const double doubt = std::hypot(t.skin_friction_sigma, worse.sigma);
  pair.set_holds(std::abs(worse.friction - t.skin_friction) < doubt ? GripVerdict::BORDERLINE
                 : worse.friction < t.skin_friction                 ? GripVerdict::YES
                                                                    : GripVerdict::NO);
  pair.set_reason(reasonOf(pair, t));
  return pair;
}

std::vector<CompressionPair> compressionPairs(const GripModel& model, double wall_angle_deg,
                                              double shortest_mm, double longest_mm) {
  const GripThresholds& t = model.thresholds();
  std::vector<CompressionPair> pairs;
  for (int step = 0; step < GripModel::kSteps / 2; ++step) {
    const double rotation_deg = step * 360.0 / GripModel::kSteps;
    const Grip* first = deepestAt(model.shape(), rotation_deg);
    const Grip* second = deepestAt(model.shape(), rotation_deg + 180);
    if (!first || !second) continue;
    const double span_mm = handHeight_mm(*first, t.contact_end_slope_deg) +
                           handHeight_mm(*second, t.contact_end_slope_deg);
    if (span_mm < shortest_mm || span_mm > longest_mm) continue;
    if (isPositive(*first, wall_angle_deg, t) || isPositive(*second, wall_angle_deg, t)) continue;
    pairs.push_back(compress(*first, *second, span_mm, wall_angle_deg, t));
  }
  sortByFriction(pairs);
  return pairs;
}

std::vector<CompressionPair> compressionPairs(const GripModel& left, const GripModel& right,
                                              double apart_mm, double wall_angle_deg,
                                              double shortest_mm, double longest_mm) {
  std::vector<CompressionPair> pairs;
  const double end_deg = left.thresholds().contact_end_slope_deg;
  const auto rights = easiestFaces(right, wall_angle_deg);
  for (const Grip* first : easiestFaces(left, wall_angle_deg))
    for (const Grip* second : rights) {
      const double span_mm =
          apart_mm + handHeight_mm(*first, end_deg) + handHeight_mm(*second, end_deg);
      if (span_mm < shortest_mm || span_mm > longest_mm) continue;
      pairs.push_back(compress(*first, *second, span_mm, wall_angle_deg, left.thresholds()));
    }
  sortByFriction(pairs);
  return pairs;
}

std::string compressionText(const CompressionList& list, const GripThresholds& t, int limit) {
  const bool two = !list.second_hold().empty();
  std::string out = list.first_hold();
  if (two)
    out += text(" left and %s right, bolts %.0f mm apart", list.second_hold().c_str(),
                list.apart_mm());
  out += text(", wall %+.0f°:\n", list.wall_angle_deg());
  int shown = 0;
  for (const CompressionPair& pair : list.pairs()) {
    if (limit > 0 && shown++ >= limit) break;
    out += text("  turned to %.0f°", pair.first_rotation_deg());
    if (two) out += text(" and %.0f°", pair.second_rotation_deg());
    out += ": " + pair.reason() +
           text("; skin gives %.2f ± %.2f: %s\n", t.skin_friction, t.skin_friction_sigma,
                pair.holds() == GripVerdict::YES  ? "holds"
                : pair.holds() == GripVerdict::NO ? "slips"
                                                  : "borderline");
  }
  if (list.pairs().empty())
    out +=
        "  No two opposed faces in that span that are not positive: positive lips are pulled on.\n";
  for (const std::string& caution : list.cautions()) out += caution + "\n";
  return out;
}

}  // namespace holdshelf
