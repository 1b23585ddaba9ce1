// SPDX-License-Identifier: Apache-2.0
#include "mesh/mesh_defects.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <numeric>

#include "mesh/orientation.h"

namespace holdshelf {
namespace {

using Eigen::Vector3d;
using Eigen::Vector3i;

double diagonalOf(const TriangleMesh& mesh) {
  Eigen::AlignedBox3d box;
  for (const Vector3d& v : mesh.vertices_mm) box.extend(v);
  return box.isEmpty() ? 0 : box.diagonal().norm();
}

std::array<int, 3> sortedCorners(const Vector3i& t) {
  std::array<int, 3> c = {t[0], t[1], t[2]};
  std::sort(c.begin(), c.end());
  return c;
}

}  // namespace

std::vector<int> firstAtPlace(const TriangleMesh& mesh) {
  const double within = 1e-9 * diagonalOf(mesh);
  const std::size_t n = mesh.vertices_mm.size();
  std::vector<int> order(n), first(n);
  std::iota(order.begin(), order.end(), 0);
  std::iota(first.begin(), first.end(), 0);
  std::sort(order.begin(), order.end(), [&](int a, int b) {
    const double x = mesh.vertices_mm[a].x(), y = mesh.vertices_mm[b].x();
    return x != y ? x < y : a < b;
  });
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t k = i + 1;
         k < n && mesh.vertices_mm[order[k]].x() - mesh.vertices_mm[order[i]].x() <= within; ++k)
      if ((mesh.vertices_mm[order[i]] - mesh.vertices_mm[order[k]]).squaredNorm() <=
          within * within) {
        const int low = std::min(first[order[i]], first[order[k]]);
        first[order[i]] = first[order[k]] = low;
      }
  for (int& f : first)
    while (first[f] != f) f = first[f];
  return first;
}

bool withoutArea(const TriangleMesh& mesh, const Vector3i& triangle) {
  const Vector3i& t = triangle;
  if (t[0] == t[1] || t[1] == t[2] || t[2] == t[0]) return true;
  const Vector3d a = mesh.vertices_mm[t[1]] - mesh.vertices_mm[t[0]],
                 b = mesh.vertices_mm[t[2]] - mesh.vertices_mm[t[0]];
  return a.cross(b).norm() <= 1e-12 * std::max(a.squaredNorm(), b.squaredNorm());
}

std::vector<bool> repeatedTriangles(const std::vector<Vector3i>& triangles) {
  std::vector<int> order(triangles.size());
  std::iota(order.begin(), order.end(), 0);
  std::sort(order.begin(), order.end(), [&](int a, int b) {
    const auto x = sortedCorners(triangles[a]), y = sortedCorners(triangles[b]);
    return x != y ? x < y : a < b;
  });
  std::vector<bool> again(triangles.size(), false);
  for (std::size_t i = 1; i < order.size(); ++i)
    again[order[i]] = sortedCorners(triangles[order[i]]) == sortedCorners(triangles[order[i - 1]]);
  return again;
}

MeshPieces piecesOf(const MeshTopology& topology) {
  const std::size_t triangles = topology.across.size() / 3;
  MeshPieces pieces{std::vector<int>(triangles, -1), 0};
  std::vector<int>& part = pieces.of_triangle;
  std::vector<int> open;
  for (std::size_t i = 0; i < triangles; ++i) {
    if (part[i] >= 0) continue;
    part[i] = pieces.count;
    open.push_back(static_cast<int>(i));
    while (!open.empty()) {
      const int t = open.back();
      open.pop_back();
      for (int k = 0; k < 3; ++k) {
        const int across = topology.across[static_cast<std::size_t>(3 * t + k)];
        if (across < 0 || part[across / 3] >= 0) continue;
        part[across / 3] = pieces.count;
        open.push_back(across / 3);
      }
    }
    ++pieces.count;
  }
  return pieces;
}

MeshDefects findDefects(const TriangleMesh& mesh) {
  MeshDefects d;
  const std::vector<int> first = firstAtPlace(mesh);
  for (std::size_t v = 0; v < first.size(); ++v)
    d.split_vertices += first[v] != static_cast<int>(v);
  for (const Vector3i& t : mesh.triangles) d.degenerate += withoutArea(mesh, t);
  const std::vector<bool> again = repeatedTriangles(mesh.triangles);
  d.duplicate = static_cast<std::size_t>(std::count(again.begin(), again.end(), true));
  std::vector<bool> used(mesh.vertices_mm.size(), false);
  for (const Vector3i& t : mesh.triangles)
    for (int k = 0; k < 3; ++k) used[t[k]] = true;
  d.loose_vertices = static_cast<std::size_t>(std::count(used.begin(), used.end(), false));
  const MeshTopology topology = buildTopology(mesh);
  d.flipped = static_cast<std::size_t>(topology.flipped_edges);
  d.surplus = static_cast<std::size_t>(topology.surplus_edges);
  d.border = static_cast<std::size_t>(topology.border_edges);
  d.pieces = static_cast<std::size_t>(piecesOf(topology).count);
  d.inside_out = signedVolume_mm3(mesh) < 0;
  return d;
}

}  // namespace holdshelf
