// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <vector>

#include "mesh/section.h"
#include "mesh/triangle_mesh.h"

// The same quantities by another library: CGAL 5.5 (Polygon_mesh_processing, Polygon_mesh_slicer,
// AABB_tree). A library of its own, so that nothing else compiles its headers.
namespace holdshelf::cgal {

double volume_mm3(const TriangleMesh& mesh);
double area_mm2(const TriangleMesh& mesh);

/// Length of all the lines in which each plane of the family cuts the mesh.
std::vector<double> sliceLengths(const TriangleMesh& mesh, const PlaneFamily& planes);

/// Distance of each point from the surface.
std::vector<double> distances(const TriangleMesh& mesh,
                              const std::vector<Eigen::Vector3d>& points_mm);

}  // namespace holdshelf::cgal
