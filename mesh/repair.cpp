// SPDX-License-Identifier: Apache-2.0
#include "mesh/repair.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <utility>

#include "mesh/bad_input.h"
#include "mesh/border_holes.h"
#include "mesh/mesh_defects.h"
#include "mesh/mesh_topology.h"
#include "mesh/orientation.h"

namespace holdshelf {
namespace {

using Eigen::Vector3d;
using Eigen::Vector3i;

/// Keeps the triangles that are wanted.
template <typename Keep>
std::size_t keepTriangles(TriangleMesh& mesh, const Keep& keep) {
  std::vector<Vector3i> kept;
  for (std::size_t i = 0; i < mesh.triangles.size(); ++i)
    if (keep(i)) kept.push_back(mesh.triangles[i]);
  const std::size_t dropped = mesh.triangles.size() - kept.size();
  mesh.triangles = std::move(kept);
  return dropped;
}

/// Drops vertices that no triangle uses. @return How many.
std::size_t dropLoose(TriangleMesh& mesh) {
  std::vector<int> place(mesh.vertices_mm.size(), -1);
  for (const Vector3i& t : mesh.triangles)
    for (int k = 0; k < 3; ++k) place[t[k]] = 0;
  int next = 0;
  const auto compact = [&](auto& attribute) {
    if (attribute.empty()) return;
    std::size_t to = 0;
    for (std::size_t v = 0; v < place.size(); ++v)
      if (place[v] >= 0) attribute[to++] = attribute[v];
    attribute.resize(to);
  };
  compact(mesh.vertices_mm);
  compact(mesh.normals);
  compact(mesh.colours);
  compact(mesh.sigma_mm);
  compact(mesh.guesswork);
  std::size_t loose = 0;
  for (int& p : place)
    if (p >= 0)
      p = next++;
    else
      ++loose;
  for (Vector3i& t : mesh.triangles)
    for (int k = 0; k < 3; ++k) t[k] = place[t[k]];
  return loose;
}

std::string counted(std::size_t n, const std::string& one, const std::string& many,
                    const std::string& done) {
  return std::to_string(n) + " " + (n == 1 ? one + " was " : many + " were ") + done + ".";
}

/// Merges, drops and tells what needs no neighbours to be judged.
/// @return  How many vertices were merged; they are loose now.
std::size_t mergeAndDrop(Repaired& out) {
  TriangleMesh& m = out.mesh;
  const std::vector<int> first = firstAtPlace(m);
  std::size_t merged = 0;
  for (std::size_t v = 0; v < first.size(); ++v) merged += first[v] != static_cast<int>(v);
  for (Vector3i& t : m.triangles)
    for (int k = 0; k < 3; ++k) t[k] = first[t[k]];
  if (merged > 0)
    out.notes.push_back(
        counted(merged, "vertex", "vertices", "merged with others at the same place"));
  const std::size_t flat =
      keepTriangles(m, [&](std::size_t i) { return !withoutArea(m, m.triangles[i]); });
  if (flat > 0)
    out.notes.push_back(
        counted(flat, "triangle without area", "triangles without area", "dropped"));
  const std::vector<bool> again = repeatedTriangles(m.triangles);
  const std::size_t twice = keepTriangles(m, [&](std::size_t i) { return !again[i]; });
  if (twice > 0)
    out.notes.push_back(counted(twice, "repeated triangle", "repeated triangles", "dropped"));
  return merged;
}

/// Drops pieces of less than a hundredth of the largest one's area.
void dropCrumbs(Repaired& out, MeshTopology& topology) {
  TriangleMesh& m = out.mesh;
  const MeshPieces pieces = piecesOf(topology);
  const std::vector<int>& part = pieces.of_triangle;
  std::vector<double> area(static_cast<std::size_t>(pieces.count), 0);
  for (std::size_t i = 0; i < part.size(); ++i) {
    const Vector3i& t = m.triangles[i];
    area[part[i]] += (m.vertices_mm[t[1]] - m.vertices_mm[t[0]])
                         .cross(m.vertices_mm[t[2]] - m.vertices_mm[t[0]])
                         .norm() /
                     2;
  }
  const double largest = *std::max_element(area.begin(), area.end());
  const auto crumbs = static_cast<std::size_t>(
      std::count_if(area.begin(), area.end(), [&](double a) { return a < 0.01 * largest; }));
  if (crumbs == 0) return;
  keepTriangles(m, [&](std::size_t i) { return area[part[i]] >= 0.01 * largest; });
  out.notes.push_back(counted(crumbs, "loose crumb", "loose crumbs", "dropped"));
  topology = buildTopology(m);
}

/// @throws BadInput  The triangles form no surface that can be followed.
void requireSurface(const TriangleMesh& mesh, const MeshTopology& topology) {
  const double edges = 1.5 * static_cast<double>(mesh.triangles.size());
  if (topology.surplus_edges > 0.1 * edges || topology.border_edges > 0.34 * edges)
    throw BadInput("The mesh is a heap of triangles rather than a surface (" +
                   std::to_string(topology.border_edges) + " open and " +
                   std::to_string(topology.surplus_edges) +
                   " overfull edges); export it again as one closed surface.");
}

/// Makes neighbours agree about outside, closes small holes and turns the whole outside out.
void orientAndClose(Repaired& out, MeshTopology& topology) {
  TriangleMesh& m = out.mesh;
  if (topology.flipped_edges > 0)
    if (const std::size_t turned = turnTogether(m, topology); turned > 0) {
      out.notes.push_back(counted(turned, "triangle that faced inwards",
                                  "triangles that faced inwards", "turned over"));
      topology = buildTopology(m);
    }
  if (topology.border_edges > 0)
    if (const std::size_t closed = closeSmallHoles(m, topology); closed > 0)
      out.notes.push_back(counted(closed, "small hole", "small holes", "closed"));
  if (signedVolume_mm3(m) < 0) {
    for (Vector3i& t : m.triangles) std::swap(t[1], t[2]);
    for (Vector3d& n : m.normals) n = -n;
    out.notes.emplace_back("The mesh was inside out and was turned.");
  }
}

}  // namespace

TriangleMesh withoutRepeats(TriangleMesh mesh) {
  const std::vector<bool> again = repeatedTriangles(mesh.triangles);
  keepTriangles(mesh, [&](std::size_t i) {
    const Vector3i& t = mesh.triangles[i];
    return !again[i] && t[0] != t[1] && t[1] != t[2] && t[2] != t[0];
  });
  if (mesh.triangles.empty())
    throw BadInput("No triangle of the mesh has any area; export the hold's surface again.");
  return mesh;
}

Repaired repairMesh(const TriangleMesh& mesh) {
  Repaired out{mesh, {}};
  const std::size_t merged = mergeAndDrop(out);
  if (out.mesh.triangles.empty())
    throw BadInput("No triangle of the mesh has any area; export the hold's surface again.");
  MeshTopology topology = buildTopology(out.mesh);
  dropCrumbs(out, topology);
  requireSurface(out.mesh, topology);
  orientAndClose(out, topology);
  if (const std::size_t loose = dropLoose(out.mesh); loose > merged)
    out.notes.push_back(counted(loose - merged, "loose vertex", "loose vertices", "dropped"));
  return out;
}

}  // namespace holdshelf
