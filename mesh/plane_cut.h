// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>

#include "mesh/mesh_topology.h"
#include "mesh/triangle_mesh.h"
#include "proto/shape.pb.h"

namespace holdshelf {

/// Cuts a mesh by any plane { p : normal . p = offset }, exactly, as ordered lines; closed where
/// the mesh is.
///
/// @param normal  Of any length but 0; the offset counts along it in mm.
/// @throws BadInput  The normal has no length, or the plane misses the mesh.
PlaneCut cutByPlane(const TriangleMesh& mesh, const MeshTopology& topology,
                    const Eigen::Vector3d& normal, double offset_mm);

}  // namespace holdshelf
