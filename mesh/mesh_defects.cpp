// SPDX-License-Identifier: Apache-2.0
#include "mesh/mesh_defects.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <bit>
#include <numeric>

#include "mesh/bad_input.h"
#include "mesh/orientation.h"
#include "mesh/place_hash.h"

namespace holdshelf {
namespace {

using Eigen::Vector3d;
using Eigen::Vector3i;

double diagonalOf(const TriangleMesh& mesh) {
  Eigen::AlignedBox3d box;
  for (const Vector3d& v : mesh.vertices_mm) box.extend(v);
  return box.isEmpty() ? 0 : box.diagonal().norm();
}

/// For each vertex the first with the very same coordinates: open addressing over the vertices.
std::vector<int> firstOfSameDigits(const std::vector<Vector3d>& vertices_mm) {
  std::vector<int> slots(std::bit_ceil(2 * vertices_mm.size() + 1), -1), first(vertices_mm.size());
  for (std::size_t v = 0; v < vertices_mm.size(); ++v) {
    std::size_t slot = placeHash(vertices_mm[v]) & (slots.size() - 1);
    while (slots[slot] >= 0 && !samePlace(vertices_mm[slots[slot]], vertices_mm[v]))
      slot = (slot + 1) & (slots.size() - 1);
    if (slots[slot] < 0) slots[slot] = static_cast<int>(v);
    first[v] = slots[slot];
  }
  return first;
}

/// The first vertex of the place that a vertex belongs to as far as is known, its way there halved.
int placeOf(std::vector<int>& first, int vertex) {
  while (first[vertex] != vertex) vertex = first[vertex] = first[first[vertex]];
  return vertex;
}

/// How far each vertex lies along a direction in which those of a grid or of a flat cut fall on
/// places of their own: its ratios are ill told by fractions (those of M. Roberts' R2 sequence).
std::vector<double> alongSlant(const TriangleMesh& mesh) {
  const Vector3d slant = Vector3d(1, 0.7548776662466927, 0.5698402909980532).normalized();
  Eigen::AlignedBox3d box;
  for (const Vector3d& v : mesh.vertices_mm) box.extend(v);
  std::vector<double> along;
  along.reserve(mesh.vertices_mm.size());
  for (const Vector3d& v : mesh.vertices_mm) along.push_back(slant.dot(v - box.min()));
  return along;
}

/// Makes vertices one place that are closer than `within`, of those that are first of their digits.
void uniteNear(const TriangleMesh& mesh, std::vector<int>& first) {
  const double within = 1e-9 * diagonalOf(mesh), slab = 1.001 * within;  // The sums round.
  const std::vector<double> along = alongSlant(mesh);
  std::vector<int> order;
  for (std::size_t v = 0; v < first.size(); ++v)
    if (first[v] == static_cast<int>(v)) order.push_back(first[v]);
  std::sort(order.begin(), order.end(),
            [&](int a, int b) { return along[a] != along[b] ? along[a] < along[b] : a < b; });
  // Six triangles that each write their corner anew make five comparisons a vertex.
  std::size_t left = 200 * order.size() + 1'000'000;
  for (std::size_t i = 0; i < order.size(); ++i)
    for (std::size_t k = i + 1; k < order.size() && along[order[k]] - along[order[i]] <= slab;
         ++k) {
      if (left-- == 0)
        throw BadInput(
            "The mesh has hundreds of vertices closer to one another than a billionth of its size; "
            "merge them where it was made, or delete what lies far away from the hold.");
      const Vector3d apart = mesh.vertices_mm[order[i]] - mesh.vertices_mm[order[k]];
      if (apart.squaredNorm() > within * within) continue;
      const int a = placeOf(first, order[i]), b = placeOf(first, order[k]);
      first[std::max(a, b)] = std::min(a, b);
    }
}

std::array<int, 3> sortedCorners(const Vector3i& t) {
  std::array<int, 3> c = {t[0], t[1], t[2]};
  std::sort(c.begin(), c.end());
  return c;
}

}  // namespace

std::vector<int> firstAtPlace(const TriangleMesh& mesh) {
  std::vector<int> first = firstOfSameDigits(mesh.vertices_mm);
  uniteNear(mesh, first);
  for (std::size_t v = 0; v < first.size(); ++v) first[v] = placeOf(first, static_cast<int>(v));
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
  // Sorted by the least corner by counting, which leaves a handful a corner to compare.
  int corners = 0;
  for (const Vector3i& t : triangles) corners = std::max(corners, t.maxCoeff() + 1);
  std::vector<int> start(static_cast<std::size_t>(corners) + 1, 0), order(triangles.size());
  for (const Vector3i& t : triangles) ++start[t.minCoeff() + 1];
  std::partial_sum(start.begin(), start.end(), start.begin());
  std::vector<int> next(start.begin(), start.end() - 1);
  for (std::size_t i = 0; i < triangles.size(); ++i)
    order[next[triangles[i].minCoeff()]++] = static_cast<int>(i);
  for (int c = 0; c < corners; ++c)
    std::sort(order.begin() + start[c], order.begin() + start[c + 1], [&](int a, int b) {
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
