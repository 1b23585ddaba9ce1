// SPDX-License-Identifier: Apache-2.0
#include "mesh/slope_map.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>

#include "mesh/mesh_topology.h"

namespace holdshelf {

std::vector<float> slopeMap_deg(const TriangleMesh& mesh, double smooth_mm) {
  std::vector<Eigen::Vector3d> normals(mesh.vertices_mm.size(), Eigen::Vector3d::Zero());
  for (const Eigen::Vector3i& t : mesh.triangles) {
    const Eigen::Vector3d n = (mesh.vertices_mm[t[1]] - mesh.vertices_mm[t[0]])
                                  .cross(mesh.vertices_mm[t[2]] - mesh.vertices_mm[t[0]]);
    for (int k = 0; k < 3; ++k) normals[t[k]] += n;
  }
  // Each round of averaging over the neighbours spreads by about one edge length; n rounds by the
  // square root of n.
  const double edge = std::max(buildTopology(mesh).resolution_mm, 1e-3);
  const int rounds = std::clamp(static_cast<int>(std::pow(smooth_mm / 2 / edge, 2)), 0, 30);
  std::vector<Eigen::Vector3d> next(normals.size());
  for (int i = 0; i < rounds; ++i) {
    std::fill(next.begin(), next.end(), Eigen::Vector3d::Zero());
    for (const Eigen::Vector3i& t : mesh.triangles) {
      const Eigen::Vector3d sum = normals[t[0]] + normals[t[1]] + normals[t[2]];
      for (int k = 0; k < 3; ++k) next[t[k]] += sum;
    }
    // Six triangles meet at a vertex: keep the sums' size.
    for (std::size_t v = 0; v < normals.size(); ++v) normals[v] = next[v] / 18;
  }
  std::vector<float> slope(normals.size(), 0);
  for (std::size_t v = 0; v < normals.size(); ++v)
    slope[v] =
        static_cast<float>(std::atan2(normals[v].head<2>().norm(), normals[v].z()) * 180 / M_PI);
  return slope;
}

}  // namespace holdshelf
