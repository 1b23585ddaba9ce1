// SPDX-License-Identifier: Apache-2.0
#include "mesh/view_mesh.h"

#include <meshoptimizer.h>

#include <array>
#include <map>

namespace holdshelf {
namespace {

std::vector<unsigned> indicesOf(const TriangleMesh& mesh) {
  std::vector<unsigned> indices;
  indices.reserve(mesh.triangles.size() * 3);
  for (const Eigen::Vector3i& t : mesh.triangles)
    for (int k = 0; k < 3; ++k) indices.push_back(static_cast<unsigned>(t[k]));
  return indices;
}

/// The vertices that are in use, with their attributes, in order of use.
TriangleMesh keepUsed(const TriangleMesh& mesh, const std::vector<unsigned>& indices) {
  TriangleMesh kept;
  std::vector<int> place(mesh.vertices_mm.size(), -1);
  const auto keep = [&](unsigned vertex) {
    if (place[vertex] >= 0) return place[vertex];
    place[vertex] = static_cast<int>(kept.vertices_mm.size());
    kept.vertices_mm.push_back(mesh.vertices_mm[vertex]);
    if (!mesh.normals.empty()) kept.normals.push_back(mesh.normals[vertex]);
    if (!mesh.colours.empty()) kept.colours.push_back(mesh.colours[vertex]);
    if (!mesh.sigma_mm.empty()) kept.sigma_mm.push_back(mesh.sigma_mm[vertex]);
    if (!mesh.guesswork.empty()) kept.guesswork.push_back(mesh.guesswork[vertex]);
    return place[vertex];
  };
  for (std::size_t i = 0; i + 2 < indices.size(); i += 3) {
    const int a = keep(indices[i]), b = keep(indices[i + 1]), c = keep(indices[i + 2]);
    kept.triangles.emplace_back(a, b, c);
  }
  return kept;
}

}  // namespace

TriangleMesh simplifiedForView(const TriangleMesh& mesh, std::size_t triangles) {
  if (mesh.triangles.size() <= triangles) return mesh;
  std::vector<float> positions;
  positions.reserve(mesh.vertices_mm.size() * 3);
  for (const Eigen::Vector3d& v : mesh.vertices_mm)
    for (int k = 0; k < 3; ++k) positions.push_back(static_cast<float>(v[k]));
  std::vector<unsigned> indices = indicesOf(mesh);
  const std::size_t kept = meshopt_simplify(
      indices.data(), indices.data(), indices.size(), positions.data(), mesh.vertices_mm.size(),
      3 * sizeof(float), triangles * 3, /*target_error=*/1.0F, /*options=*/0U, nullptr);
  indices.resize(kept);
  meshopt_optimizeVertexCache(indices.data(), indices.data(), kept, mesh.vertices_mm.size());
  return keepUsed(mesh, indices);
}

std::vector<float> keptValues(const TriangleMesh& kept, const TriangleMesh& all,
                              std::span<const float> values) {
  // Kept vertices have their coordinates to the last bit.
  const auto key = [](const Eigen::Vector3d& v) { return std::array{v.x(), v.y(), v.z()}; };
  std::map<std::array<double, 3>, float> by_place;
  for (std::size_t i = 0; i < all.vertices_mm.size(); ++i)
    by_place.emplace(key(all.vertices_mm[i]), values[i]);
  std::vector<float> out;
  out.reserve(kept.vertices_mm.size());
  for (const Eigen::Vector3d& v : kept.vertices_mm) out.push_back(by_place.at(key(v)));
  return out;
}

}  // namespace holdshelf
