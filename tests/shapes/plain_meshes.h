// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>

#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// A sphere of rings x 2 rings quadrilaterals, its vertices exactly on the sphere.
TriangleMesh latitudeSphere(const Eigen::Vector3d& centre_mm, double radius_mm, int rings);

/// Two triangles of the plane through `origin_mm` with sides u and v, seen from where u turns
/// counter-clockwise into v.
TriangleMesh parallelogram(const Eigen::Vector3d& origin_mm, const Eigen::Vector3d& u_mm,
                           const Eigen::Vector3d& v_mm);

/// Three legs from a right corner at the origin along +x, +y and +z, closed: 6 times its volume is
/// the product of their lengths.
TriangleMesh rightTetrahedron(const Eigen::Vector3d& legs_mm);

}  // namespace holdshelf
