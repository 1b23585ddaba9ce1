// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <functional>

#include "catalog/lip_probe.h"

namespace holdshelf {

/// Lip curves described by their first principal components, for a lower bound of the gap between a
/// wanted lip and a stored one that does not touch the stored one's points.
///
/// With both lines less their means, a stored curve is mean + C c + r, where C is orthonormal and r
/// has the length `rest`. Restricted to the points that a placement covers, C = Q R, so that
/// |target - R c| in the ten dimensions of Q, with what of the target lies beyond them, is at most
/// `rest` longer than the distance of the lines; and that is the gap times the root of the points.
class LipComponents {
 public:
  static constexpr int kComponents = 10;
  using Components = std::array<std::int16_t, kComponents>;  ///< In steps of 0.01 mm.

  /// One curve.
  struct Point {
    Components at;
    float rest;  ///< Length of what the components leave out, mm.
  };
  /// Around any number of curves.
  struct Box {
    Components least, most;
    float rest;  ///< The largest.
  };

  /// One placement of a wanted lip, made ready to be held against many curves:
  /// gap >= (sqrt(beyond + |target - form c|²) - rest) / sqrt(points).
  struct Aim {
    std::array<std::array<float, kComponents>, kComponents> form;  ///< R, per step of c.
    std::array<float, kComponents> target;
    float beyond = 0;   ///< Squared length of the target outside of Q.
    float per_gap = 1;  ///< sqrt(points).

    /// No smaller gap is possible, mm: to this curve, to any curve in the box.
    float bound(const Point& point) const {
      float sum = beyond;
      for (int row = 0; row < kComponents; ++row) {
        float value = target[static_cast<std::size_t>(row)];
        for (int k = row; k < kComponents; ++k)
          value -= form[static_cast<std::size_t>(row)][static_cast<std::size_t>(k)] *
                   point.at[static_cast<std::size_t>(k)];
        sum += value * value;
      }
      return (std::sqrt(sum) - point.rest) / per_gap - kRounding_mm;
    }

    float bound(const Box& box) const {
      std::array<float, kComponents> middle, half;
      for (std::size_t k = 0; k < kComponents; ++k) {
        middle[k] = 0.5F * static_cast<float>(box.most[k] + box.least[k]);
        half[k] = 0.5F * static_cast<float>(box.most[k] - box.least[k]);
      }
      float sum = beyond;
      for (std::size_t row = 0; row < kComponents; ++row) {
        float value = target[row], reach = 0;
        for (std::size_t k = row; k < kComponents; ++k) {
          value -= form[row][k] * middle[k];
          reach += std::abs(form[row][k]) * half[k];
        }
        const float least = std::max(0.0F, std::abs(value) - reach);
        sum += least * least;
      }
      return (std::sqrt(sum) - box.rest) / per_gap - kRounding_mm;
    }

   private:
    static constexpr float kRounding_mm = 1e-4F;  // Bounds are float sums.
  };

  LipComponents() = default;
  /// Finds the components of a sample of curves (one at least).
  LipComponents(std::size_t curves, const std::function<LipCurve(std::size_t)>& curve);

  Point describe(const LipCurve& curve) const;
  Aim aimOf(const LipPlacement& placement) const;

 private:
  Eigen::VectorXf mean_;        // Of centred curves, x and y by turns.
  Eigen::MatrixXf components_;  // One a column, unit length.
};

}  // namespace holdshelf
