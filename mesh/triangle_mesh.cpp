// SPDX-License-Identifier: Apache-2.0
#include "mesh/triangle_mesh.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <utility>

namespace holdshelf {

std::vector<Eigen::Vector3d> vertexNormals(const TriangleMesh& mesh) {
  std::vector<Eigen::Vector3d> normals(mesh.vertices_mm.size(), Eigen::Vector3d::Zero());
  for (const Eigen::Vector3i& t : mesh.triangles) {
    const Eigen::Vector3d& a = mesh.vertices_mm[t[0]];
    const Eigen::Vector3d n = (mesh.vertices_mm[t[1]] - a).cross(mesh.vertices_mm[t[2]] - a);
    for (int k = 0; k < 3; ++k) normals[t[k]] += n;
  }
  for (Eigen::Vector3d& n : normals) {
    const double length = n.norm();
    if (length > 0) n /= length;
  }
  return normals;
}

bool isWatertight(const TriangleMesh& mesh) {
  if (mesh.triangles.empty()) return false;
  std::vector<std::pair<int, int>> edges;
  edges.reserve(mesh.triangles.size() * 3);
  for (const Eigen::Vector3i& t : mesh.triangles)
    for (int k = 0; k < 3; ++k) edges.emplace_back(t[k], t[(k + 1) % 3]);
  std::sort(edges.begin(), edges.end());
  for (size_t i = 0; i < edges.size(); ++i) {
    if (i > 0 && edges[i] == edges[i - 1]) return false;
    const std::pair<int, int> opposite(edges[i].second, edges[i].first);
    if (!std::binary_search(edges.begin(), edges.end(), opposite)) return false;
  }
  return true;
}

std::pair<double, double> reachAlong(const TriangleMesh& mesh, const Eigen::Vector3d& direction) {
  double low = 1e300, high = -1e300;
  for (const Eigen::Vector3d& v : mesh.vertices_mm) {
    const double s = direction.dot(v);
    low = std::min(low, s);
    high = std::max(high, s);
  }
  return {low, high};
}

}  // namespace holdshelf
