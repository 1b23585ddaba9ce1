// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <memory>
#include <optional>

#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// Where a ray meets a mesh.
struct RayHit {
  double distance = 0;              ///< Along the ray, in lengths of its direction.
  int triangle = -1;                ///< Index into TriangleMesh::triangles.
  double u = 0, v = 0;              ///< Barycentrics of corners 1 and 2.
  Eigen::Vector3d normal{0, 0, 0};  ///< Unit, of the triangle, outward by its winding.
};

/// The nearest point of a mesh to a given point.
struct SurfacePoint {
  Eigen::Vector3d point_mm{0, 0, 0};
  double distance_mm = 0;
  int triangle = -1;
};

/// A mesh made ready for rays and closest points (Embree 3). Keeps its own copy of the geometry;
/// all queries are const and may run on several threads at once.
class RayScene {
 public:
  explicit RayScene(const TriangleMesh& mesh);
  ~RayScene();
  RayScene(RayScene&&) noexcept;
  RayScene& operator=(RayScene&&) noexcept;

  /// First hit with distance in (near, far), or nullopt. Frame and unit of the mesh.
  std::optional<RayHit> firstHit(const Eigen::Vector3d& origin, const Eigen::Vector3d& direction,
                                 double near = 0, double far = 1e30) const;

  /// True when anything lies between the two points; `gap_mm` is left free at both ends so that a
  /// surface does not hide its own points.
  bool occluded(const Eigen::Vector3d& from, const Eigen::Vector3d& to, double gap_mm) const;

  /// Nearest surface point within `radius_mm`, or nullopt.
  std::optional<SurfacePoint> closestPoint(const Eigen::Vector3d& point_mm,
                                           double radius_mm = 1e30) const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace holdshelf
