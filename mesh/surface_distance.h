// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Geometry>
#include <cstddef>
#include <vector>

#include "mesh/registration_target.h"

namespace holdshelf {

/// How far one surface lies from another, from samples of both; infinite where there are none.
struct SurfaceDistance {
  double median_mm = 0;
  double p95_mm = 0;  ///< 95 % are smaller.
  /// The same of signed distances (1 mm at most: a hole's rim is no measure of the shape around it)
  /// that were averaged over patches of 5 mm radius: a scan's noise averages out, what is truly
  /// another shape stays. 85 %, so that worn spots and holes count not.
  double patch_p85_mm = 0;
};

/// Distances between a and b after b was brought onto a, both ways: from samples of each to the
/// nearest point of the other, in the size of a.
///
/// @param b_to_a   Rotation, shift, a size and maybe a mirror image.
/// @param scale    The size in `b_to_a`: one millimetre of b is so many of a.
/// @param samples  A side.
SurfaceDistance distanceBetween(const RegistrationTarget& a, const RegistrationTarget& b,
                                const Eigen::Affine3d& b_to_a, double scale, std::size_t samples);

}  // namespace holdshelf
