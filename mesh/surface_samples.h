// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <cstdint>
#include <vector>

#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// Points spread evenly over a mesh's outside: the same area stands behind each.
struct SurfaceSamples {
  std::vector<Eigen::Vector3d> points_mm;
  std::vector<Eigen::Vector3d> normals;  ///< Of the triangle, unit, outward.
  double area_mm2 = 0;                   ///< Behind one sample.
};

/// About `count` samples of the part that shows when the hold is mounted (z above `above_z_mm`).
/// Deterministic: one sample each time the summed area passes another step, placed within its
/// triangle by a fixed low-discrepancy sequence. Empty for a mesh without such area.
SurfaceSamples sampleSurface(const TriangleMesh& mesh, std::size_t count, double above_z_mm = 1);

}  // namespace holdshelf
