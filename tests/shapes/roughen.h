// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>

#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// What a mesh from photos adds to the true surface: its vertices above the wall moved along their
/// normals by noise that neighbours share.
struct Roughness {
  double sigma_mm = 0.07;  ///< Standard deviation of a vertex.
  double length_mm = 0.7;  ///< Two vertices d apart correlate by exp(-d^2 / 2 length^2).
  double smooth_mm = 0;    ///< Standard deviation of a Gaussian that blurs the surface first.
  std::uint32_t seed = 1;
};

/// The mesh so roughened; its sigma_mm says so. The field is a sum of 300 plane waves of random
/// direction and phase, whose sum is normal with that covariance.
TriangleMesh roughened(const TriangleMesh& mesh, const Roughness& roughness);

}  // namespace holdshelf
