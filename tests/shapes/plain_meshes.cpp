// SPDX-License-Identifier: Apache-2.0
#include "tests/shapes/plain_meshes.h"

#include <cmath>

namespace holdshelf {

TriangleMesh latitudeSphere(const Eigen::Vector3d& centre_mm, double radius_mm, int rings) {
  TriangleMesh mesh;
  const int around = 2 * rings;
  for (int i = 0; i <= rings; ++i)
    for (int j = 0; j < around; ++j) {
      const double theta = M_PI * i / rings, phi = 2 * M_PI * j / around;
      mesh.vertices_mm.push_back(centre_mm +
                                 radius_mm * Eigen::Vector3d(std::sin(theta) * std::cos(phi),
                                                             std::sin(theta) * std::sin(phi),
                                                             std::cos(theta)));
    }
  for (int i = 0; i < rings; ++i)
    for (int j = 0; j < around; ++j) {
      const int a = i * around + j, b = i * around + (j + 1) % around;
      mesh.triangles.emplace_back(a, a + around, b + around);
      mesh.triangles.emplace_back(a, b + around, b);
    }
  return mesh;
}

TriangleMesh parallelogram(const Eigen::Vector3d& origin_mm, const Eigen::Vector3d& u_mm,
                           const Eigen::Vector3d& v_mm) {
  TriangleMesh mesh;
  mesh.vertices_mm = {origin_mm, origin_mm + u_mm, origin_mm + u_mm + v_mm, origin_mm + v_mm};
  mesh.triangles = {{0, 1, 2}, {0, 2, 3}};
  return mesh;
}

TriangleMesh rightTetrahedron(const Eigen::Vector3d& legs_mm) {
  TriangleMesh mesh;
  mesh.vertices_mm = {{0, 0, 0}, {legs_mm.x(), 0, 0}, {0, legs_mm.y(), 0}, {0, 0, legs_mm.z()}};
  mesh.triangles = {{0, 2, 1}, {0, 1, 3}, {0, 3, 2}, {1, 2, 3}};
  return mesh;
}

}  // namespace holdshelf
