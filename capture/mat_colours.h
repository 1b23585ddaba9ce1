// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>

#include "capture/mat_background.h"

namespace holdshelf {

/// What colours the mat itself shows in one photo, lit or in shadow. Colours are features relative
/// to white paper (colourFeature in capture/colour_model.h).
struct MatColours {
  float black_log = -2;  ///< Log luminance of black ink.
  float sigma = 0.03f;   ///< Of bare paper, log luminance.

  /// Log density of a colour at a point with that ink, lit or in shadow.
  float logDensity(MatInk ink, const Eigen::Vector3f& f) const;

  /// True when the colour is what that ink shows in full light.
  bool bare(MatInk ink, const Eigen::Vector3f& f) const;

  /// True for paper in light or in a moderate shadow.
  static bool shadedPaper(const Eigen::Vector3f& f);

  /// True when the colour could be that ink's in some light: not to be learnt as the hold's.
  bool likely(MatInk ink, const Eigen::Vector3f& f) const;

  static constexpr float kPaper = 0.0198f;    ///< Log luminance of white, log(1.02).
  static constexpr float kDarkest = -3.912f;  ///< The least there is, log(0.02).
};

}  // namespace holdshelf
