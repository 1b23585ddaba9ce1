// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Geometry>
#include <vector>

#include "capture/depth_map.h"
#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// How the peer makes a surface. Lengths in mm.
struct SurfaceOptions {
  double voxel_mm = 0.5;        ///< Of the TSDF, and the distance points are thinned to.
  double truncation_mm = 2.5;   ///< Of the TSDF.
  double least_cluster = 0.05;  ///< Islands with less than this share of the triangles go.
  int poisson_depth = 9;        ///< Octree levels.
  double least_density = 0.03;  ///< Share of the least supported Poisson vertices that go.
};

/// The chain of libraries, second half: Open3D's ScalableTSDFVolume and its marching cubes.
/// Frame of the maps' cameras; only what lies in the box is kept.
TriangleMesh fuseByTsdf(const std::vector<DepthMap>& maps, const Eigen::AlignedBox3d& box_mm,
                        const SurfaceOptions& options);

/// The same by Open3D's screened Poisson reconstruction from the maps' points, with normals
/// estimated in each map and turned to its camera.
TriangleMesh fuseByPoisson(const std::vector<DepthMap>& maps, const Eigen::AlignedBox3d& box_mm,
                           const SurfaceOptions& options);

}  // namespace holdshelf
