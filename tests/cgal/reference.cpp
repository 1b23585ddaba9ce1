// SPDX-License-Identifier: Apache-2.0
#include "tests/cgal/reference.h"

#include <CGAL/AABB_face_graph_triangle_primitive.h>
#include <CGAL/AABB_traits.h>
#include <CGAL/AABB_tree.h>
#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Polygon_mesh_processing/measure.h>
#include <CGAL/Polygon_mesh_slicer.h>
#include <CGAL/Surface_mesh.h>

#include <cmath>
#include <stdexcept>

namespace holdshelf::cgal {
namespace {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using Mesh = CGAL::Surface_mesh<Kernel::Point_3>;
namespace pmp = CGAL::Polygon_mesh_processing;

Mesh toCgal(const TriangleMesh& mesh) {
  Mesh out;
  for (const Eigen::Vector3d& v : mesh.vertices_mm) out.add_vertex({v.x(), v.y(), v.z()});
  for (const Eigen::Vector3i& t : mesh.triangles) {
    const auto v = [&](int k) { return Mesh::Vertex_index(static_cast<Mesh::size_type>(t[k])); };
    if (out.add_face(v(0), v(1), v(2)) == Mesh::null_face())
      throw std::invalid_argument("CGAL does not take this mesh as a surface");
  }
  return out;
}

}  // namespace

double volume_mm3(const TriangleMesh& mesh) { return pmp::volume(toCgal(mesh)); }
double area_mm2(const TriangleMesh& mesh) { return pmp::area(toCgal(mesh)); }

std::vector<double> sliceLengths(const TriangleMesh& mesh, const PlaneFamily& planes) {
  const Mesh surface = toCgal(mesh);
  const CGAL::Polygon_mesh_slicer<Mesh, Kernel> slicer(surface);
  std::vector<double> lengths;
  for (int k = 0; k < planes.count; ++k) {
    const Eigen::Vector3d& n = planes.normal;
    std::vector<std::vector<Kernel::Point_3>> lines;
    slicer(Kernel::Plane_3(n.x(), n.y(), n.z(), -planes.offset(k)), std::back_inserter(lines));
    double length = 0;
    for (const auto& line : lines)
      for (std::size_t i = 1; i < line.size(); ++i)
        length += std::sqrt(CGAL::squared_distance(line[i - 1], line[i]));
    lengths.push_back(length);
  }
  return lengths;
}

std::vector<double> distances(const TriangleMesh& mesh,
                              const std::vector<Eigen::Vector3d>& points_mm) {
  const Mesh surface = toCgal(mesh);
  using Primitive = CGAL::AABB_face_graph_triangle_primitive<Mesh>;
  CGAL::AABB_tree<CGAL::AABB_traits<Kernel, Primitive>> tree(faces(surface).first,
                                                             faces(surface).second, surface);
  std::vector<double> out;
  for (const Eigen::Vector3d& p : points_mm)
    out.push_back(std::sqrt(tree.squared_distance({p.x(), p.y(), p.z()})));
  return out;
}

}  // namespace holdshelf::cgal
