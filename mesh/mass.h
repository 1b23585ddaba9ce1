// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>

#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// Volume integrals of a closed mesh as it stands, by the divergence theorem over its triangles.
///
/// Method: B. Mirtich, "Fast and accurate computation of polyhedral mass properties", J. Graphics
/// Tools 1(2), 1996; here by the closed form over tetrahedra to the origin (centred first).
struct MassProperties {
  double volume_mm3 = 0;
  double area_mm2 = 0;
  Eigen::Vector3d centroid_mm = Eigen::Vector3d::Zero();
  Eigen::Matrix3d second_moment_mm5 =
      Eigen::Matrix3d::Zero();  ///< Integral of x x^T, about the origin.
  /// About the centroid, for density 1.
  Eigen::Matrix3d inertia() const;
};
MassProperties massProperties(const TriangleMesh& mesh);

/// What a hold encloses above the wall plane and shows to the outside. Hold frame; open backs count
/// as closed at z = 0.
struct HoldBody {
  double volume_mm3 = 0;  ///< Above z = 0.
  double area_mm2 = 0;    ///< Without the back.
  double protrusion_mm = 0;
  int highest_vertex = 0;
  Eigen::Vector3d low_mm, high_mm;  ///< Bounding box.
};
/// @param back_mm  Below this a mesh's corners at the wall are not to be trusted: there the surface
///                 counts as going on down to the wall as it comes.
HoldBody measureBody(const TriangleMesh& mesh, double back_mm);

/// The two vertices farthest from each other. Exact but for shapes whose many diameters are equal
/// to within about 0.1 %, such as spheres.
struct Extent {
  double length_mm = 0;
  int from = 0, to = 0;
};
Extent longestExtent(const TriangleMesh& mesh);

}  // namespace holdshelf
