// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Geometry>

#include "mesh/registration_target.h"

namespace holdshelf {

/// How far one surface lies from the other after they were brought together, both ways.
struct Registered {
  /// x_a = T_a_b * (scale * mirror * x_b), with mirror = diag(-1, 1, 1) where `mirrored`.
  Eigen::Isometry3d T_a_b = Eigen::Isometry3d::Identity();
  double scale = 1;
  bool mirrored = false;
  double median_mm = 0;  ///< Of the distances both ways, in the size of a.
  double p95_mm = 0;     ///< 95 % of them are smaller.
  /// The same of signed distances that were averaged over patches of some 5 mm: a scan's noise
  /// averages out, what is truly another shape stays. 85 %, so that worn spots and holes count not.
  double patch_p85_mm = 0;
  double rotation_deg = 0;  ///< About z, counter-clockwise.

  Eigen::Affine3d transform() const;
};

struct RegistrationOptions {
  bool try_mirrored = true;
  bool try_sizes = true;       ///< Scale b to the size of a when they differ by more than 3 %.
  int guesses = 6;             ///< Rotations that are refined.
  double gentle_mm = 0.5;      ///< Deviations far above this stop pulling (Tukey's biweight).
  std::size_t samples = 3000;  ///< A side.
  /// Surfaces whose median distance is above this after the rough steps are not refined: their
  /// distances are infinite. Speed only: twins are far below.
  double hopeless_mm = 1e9;
};

/// Brings b onto a: rotation about the wall's normal from the signatures' phases, then
/// closest-point refinement (point to plane) of all six freedoms, and of the size where sizes
/// differ, with a robust weight, so that worn or missing parts do not pull the rest out of place.
///
/// Source: Chen, Medioni, "Object modelling by registration of multiple range images", Image and
/// Vision Computing 10(3), 1992; robust weights after Tukey's biweight.
Registered registerMeshes(const RegistrationTarget& a, const RegistrationTarget& b,
                          const RegistrationOptions& options = {});

}  // namespace holdshelf
