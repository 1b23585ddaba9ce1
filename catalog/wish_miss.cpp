// SPDX-License-Identifier: Apache-2.0
#include "catalog/wish_miss.h"

#include <algorithm>
#include <cmath>

#include "catalog/compression.h"
#include "catalog/edge_at.h"
#include "catalog/grip_map.h"
#include "catalog/measured_text.h"

namespace holdshelf {
namespace {

constexpr double kIncut_deg = 3;          ///< From which a face is called incut: judgement.
constexpr double kPositiveDepth_mm = 10;  ///< Of a lip that can be pulled down on: judgement.

bool positiveLip(const Grip& grip, double wall_angle_deg) {
  return grip.edge_depth_mm().value() >= kPositiveDepth_mm &&
         grip.incut_deg().value() > wall_angle_deg;
}

bool needsEdge(const Wish& w) {
  return w.incut() || w.least_lip_radius_mm() > 0 || w.most_lip_radius_mm() > 0 ||
         w.least_depth_mm() > 0 || w.most_depth_mm() > 0 || w.compression();
}

/// Limits of 0 are open. Calls add(distance, words) where the value is outside.
template <typename Add>
void checkRange(const Measured& value, double least, double most, double small, const char* what,
                const std::string& unit, const Add& add) {
  const bool below = least > 0 && value.value() < least;
  if (!below && !(most > 0 && value.value() > most)) return;
  add((below ? least - value.value() : value.value() - most) / small, [&] {
    return what + (" " + measuredText(value, unit)) + ", not " +
           decimalText(below ? least : most, 0) + (unit == "°" ? "" : " ") + unit +
           (below ? " or more" : " or less");
  });
}

template <typename Add>
void checkEdge(const Wish& wish, const Grip& edge, const GripThresholds& t, const Add& add) {
  checkRange(edge.lip_radius_mm(), wish.least_lip_radius_mm(), wish.most_lip_radius_mm(), 1,
             "lip radius", "mm", add);
  checkRange(edge.edge_depth_mm(), wish.least_depth_mm(), wish.most_depth_mm(), 2, "edge depth",
             "mm", add);
  if (wish.incut()) checkRange(edge.incut_deg(), kIncut_deg, 0, 5, "incut", "°", add);
  // A lip that hurts is no hand's wish.
  if (wish.grip() != "foot-only" &&
      (edge.lip_sharp() || edge.lip_radius_mm().value() < t.sharp_radius_mm))
    add(1, [&] {
      return "its lip is sharp: a radius below " + decimalText(t.sharp_radius_mm, 1) + " mm";
    });
}

/// Friction short of holding when the face is squeezed from the side; the face must not be one to
/// pull on.
template <typename Add>
void checkSqueeze(const Grip& edge, double wall_angle_deg, const GripThresholds& t,
                  const Add& add) {
  const double slope_deg = std::max(0.0, -edge.incut_deg().value());
  const double needed = compressionFriction(slope_deg, 0, wall_angle_deg, t.compression_squeeze);
  if (needed > t.skin_friction)
    // Within skin's own uncertainty it is borderline: offered, and said.
    add(std::min(9.0, (needed - t.skin_friction) / (2 * t.skin_friction_sigma)), [&] {
      const std::string face = "sloping " + decimalText(slope_deg, 0) + "°, ";
      if (!std::isfinite(needed)) return face + "squeezing it pushes the hands off";
      return face + "squeezing it needs a friction of " + decimalText(needed, 2) + ", skin has " +
             decimalText(t.skin_friction, 2);
    });
  if (edge.incut_deg().value() > 0)
    add(edge.incut_deg().value() / 5, [&] {
      return "incut " + measuredText(edge.incut_deg(), "°") + ": pulled on, not squeezed";
    });
}

template <typename Add>
void checkKind(const Wish& wish, const GripCell& cell, double wall_angle_deg,
               const GripThresholds& t, const Add& add) {
  const std::string at = " at " + decimalText(wall_angle_deg, 0) + "°";
  if (wish.grip() == "foot-only") {
    if (cell.toe < t.toe_fraction)
      add(kOtherKind, [&] {
        return "gives a toe " + decimalText(cell.toe, 2) + " of a deep edge" + at + ", not " +
               decimalText(t.toe_fraction, 2);
      });
    if (cell.reach > t.too_grabbable)
      add(kOtherKind, [&] {
        return "too grabbable: " + decimalText(cell.reach, 2) + " of a jug within reach" + at +
               ", not " + decimalText(t.too_grabbable, 2) + " or less";
      });
    return;
  }
  const bool fits =
      wish.grip().empty() ? cell.kind != GripKind::None : wordOf(cell.kind) == wish.grip();
  if (fits) return;
  add(kOtherKind, [&] {
    const std::string word(wordOf(cell.kind));
    return (cell.kind == GripKind::None ? "nothing for a hand" : "grip is \"" + word + "\"") + at +
           ", not \"" + (wish.grip().empty() ? "any" : wish.grip()) + "\"";
  });
}

/// Calls add(distance, words) for each limit of the wish that the hold misses.
template <typename Add>
void eachMiss(const Wish& wish, const Shape& shape, const GripMap& map, double rotation_deg,
              double wall_angle_deg, const GripThresholds& t, const Add& add) {
  // A face that is squeezed is judged by its shape: hanging on it is not what it is for.
  const double judged_deg = wish.compression() ? 0 : wall_angle_deg;
  const auto cell = lookUp(map, {rotation_deg, judged_deg, 0});
  if (!cell) return add(kOtherKind, [] { return "was judged by another version: scan it anew"; });
  checkKind(wish, *cell, judged_deg, t, add);
  const Grip* edge = edgeAt(shape, rotation_deg);
  if (edge != nullptr) {
    checkEdge(wish, *edge, t, add);
    if (wish.compression()) checkSqueeze(*edge, wall_angle_deg, t, add);
  } else if (needsEdge(wish)) {
    add(kOtherKind, [] { return "has no edge there"; });
  }
  if (wish.no_positive_lip())
    for (const Grip& grip : shape.grips())
      if (positiveLip(grip, wall_angle_deg)) {
        add(2, [&] {
          return "has a positive lip, " + measuredText(grip.edge_depth_mm(), "mm") +
                 " deep and incut " + measuredText(grip.incut_deg(), "°") + " at " +
                 decimalText(grip.rotation_deg(), 0) + "°";
        });
        break;
      }
  checkRange(shape.protrusion_mm(), 0, wish.most_protrusion_mm(), 5, "protrusion", "mm", add);
  checkRange(shape.longest_extent_mm(), wish.least_extent_mm(), wish.most_extent_mm(), 10,
             "longest extent", "mm", add);
  if (wish.fingers() > 0 && wish.grip() == "pocket" &&
      std::none_of(shape.pockets().begin(), shape.pockets().end(),
                   [&](const Pocket& p) { return p.fingers() == wish.fingers(); }))
    add(2, [&] { return "no pocket for " + std::to_string(wish.fingers()) + " fingers"; });
}

}  // namespace

WishMiss missOf(const Wish& wish, const Shape& shape, const GripMap& map, double rotation_deg,
                double wall_angle_deg, const GripThresholds& t) {
  WishMiss miss;
  eachMiss(wish, shape, map, rotation_deg, wall_angle_deg, t,
           [&](double distance, const auto& words) {
             miss.distance += distance;
             miss.limits.push_back(words());
           });
  return miss;
}

double missDistance(const Wish& wish, const Shape& shape, const GripMap& map, double rotation_deg,
                    double wall_angle_deg, const GripThresholds& t) {
  double sum = 0;
  eachMiss(wish, shape, map, rotation_deg, wall_angle_deg, t,
           [&](double distance, const auto&) { sum += distance; });
  return sum;
}

std::optional<double> wishMiss(const Wish& wish, const Shape& shape, const GripMap& map,
                               double rotation_deg, double wall_angle_deg,
                               const GripThresholds& t) {
  const double miss = missDistance(wish, shape, map, rotation_deg, wall_angle_deg, t);
  return miss >= kOtherKind ? std::nullopt : std::optional(miss);
}

}  // namespace holdshelf
