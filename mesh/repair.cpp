// SPDX-License-Identifier: Apache-2.0
#include "mesh/repair.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

#include "mesh/bad_input.h"
#include "mesh/mesh_topology.h"

namespace holdshelf {
namespace {

using Eigen::Vector3d;
using Eigen::Vector3i;

double sizeOf(const TriangleMesh& mesh) {
  Eigen::AlignedBox3d box;
  for (const Vector3d& v : mesh.vertices_mm) box.extend(v);
  return box.isEmpty() ? 0 : box.diagonal().norm();
}

/// For each vertex the first one at its place. Places closer than `within` are one.
std::vector<int> firstAtPlace(const TriangleMesh& mesh, double within) {
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

bool withoutArea(const TriangleMesh& mesh, const Vector3i& t) {
  if (t[0] == t[1] || t[1] == t[2] || t[2] == t[0]) return true;
  const Vector3d a = mesh.vertices_mm[t[1]] - mesh.vertices_mm[t[0]],
                 b = mesh.vertices_mm[t[2]] - mesh.vertices_mm[t[0]];
  return a.cross(b).norm() <= 1e-12 * std::max(a.squaredNorm(), b.squaredNorm());
}

std::array<int, 3> sortedCorners(const Vector3i& t) {
  std::array<int, 3> c = {t[0], t[1], t[2]};
  std::sort(c.begin(), c.end());
  return c;
}

std::vector<bool> repeated(const std::vector<Vector3i>& triangles) {
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

/// Keeps the triangles that are wanted and the vertices they use.
template <typename Keep>
std::size_t keepTriangles(TriangleMesh& mesh, const Keep& keep) {
  std::vector<Vector3i> kept;
  for (std::size_t i = 0; i < mesh.triangles.size(); ++i)
    if (keep(i)) kept.push_back(mesh.triangles[i]);
  const std::size_t dropped = mesh.triangles.size() - kept.size();
  mesh.triangles = std::move(kept);
  return dropped;
}

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

/// Number of the connected part of each triangle.
std::vector<int> parts(const MeshTopology& topology, std::size_t triangles, int& count) {
  std::vector<int> part(triangles, -1);
  std::vector<int> open;
  count = 0;
  for (std::size_t i = 0; i < triangles; ++i) {
    if (part[i] >= 0) continue;
    part[i] = count;
    open.push_back(static_cast<int>(i));
    while (!open.empty()) {
      const int t = open.back();
      open.pop_back();
      for (int k = 0; k < 3; ++k) {
        const int across = topology.across[static_cast<std::size_t>(3 * t + k)];
        if (across < 0 || part[across / 3] >= 0) continue;
        part[across / 3] = count;
        open.push_back(across / 3);
      }
    }
    ++count;
  }
  return part;
}

/// Turns triangles over so that neighbours run along their common edge in opposite senses.
std::size_t agree(TriangleMesh& mesh, const MeshTopology& topology) {
  std::vector<char> turn(mesh.triangles.size(), -1);
  std::vector<int> open, piece;
  std::size_t turned = 0;
  for (std::size_t i = 0; i < mesh.triangles.size(); ++i) {
    if (turn[i] >= 0) continue;
    piece.clear();
    turn[i] = 0;
    open.push_back(static_cast<int>(i));
    while (!open.empty()) {
      const int t = open.back();
      open.pop_back();
      piece.push_back(t);
      for (int k = 0; k < 3; ++k) {
        const int across = topology.across[static_cast<std::size_t>(3 * t + k)];
        if (across < 0 || turn[across / 3] >= 0) continue;
        const bool same_sense = mesh.triangles[t][k] == mesh.triangles[across / 3][across % 3];
        turn[across / 3] = static_cast<char>(same_sense ? 1 - turn[t] : turn[t]);
        open.push_back(across / 3);
      }
    }
    std::size_t of_piece = 0;
    for (int t : piece) of_piece += turn[t] == 1;
    // The majority was right.
    const bool other = of_piece * 2 > piece.size();
    for (int t : piece)
      if ((turn[t] == 1) != other) {
        std::swap(mesh.triangles[t][1], mesh.triangles[t][2]);
        ++turned;
      }
  }
  return turned;
}

double signedVolume(const TriangleMesh& mesh) {
  Vector3d middle = Vector3d::Zero();
  for (const Vector3d& v : mesh.vertices_mm) middle += v;
  middle /= std::max<double>(1, static_cast<double>(mesh.vertices_mm.size()));
  double six = 0;
  for (const Vector3i& t : mesh.triangles)
    six += (mesh.vertices_mm[t[0]] - middle)
               .dot((mesh.vertices_mm[t[1]] - middle).cross(mesh.vertices_mm[t[2]] - middle));
  return six / 6;
}

/// Border loops as vertex lists, in the order that closes them outwards.
std::vector<std::vector<int>> borderLoops(const TriangleMesh& mesh, const MeshTopology& topology) {
  std::vector<std::pair<int, int>> next;  // From a border edge's end back to its beginning.
  for (std::size_t h = 0; h < topology.across.size(); ++h)
    if (topology.across[h] < 0) {
      const Vector3i& t = mesh.triangles[h / 3];
      next.emplace_back(t[static_cast<int>((h % 3 + 1) % 3)], t[static_cast<int>(h % 3)]);
    }
  std::sort(next.begin(), next.end());
  std::vector<bool> used(next.size(), false);
  std::vector<std::vector<int>> loops;
  for (std::size_t i = 0; i < next.size(); ++i) {
    std::vector<int> loop;
    for (std::size_t at = i; at < next.size() && !used[at];) {
      used[at] = true;
      loop.push_back(next[at].first);
      const auto found =
          std::lower_bound(next.begin(), next.end(), std::pair<int, int>(next[at].second, -1));
      at = static_cast<std::size_t>(found - next.begin());
      if (at < next.size() && next[at].first != found->first) break;
      while (at < next.size() && used[at] && next[at].first == found->first) ++at;
      if (at < next.size() && next[at].first != found->first) break;
    }
    if (loop.size() >= 3) loops.push_back(std::move(loop));
  }
  return loops;
}

std::size_t closeSmallHoles(TriangleMesh& mesh, const MeshTopology& topology) {
  constexpr std::size_t kMostEdges = 60;
  const auto loops = borderLoops(mesh, topology);
  std::size_t longest = 0;
  for (const auto& loop : loops) longest = std::max(longest, loop.size());
  std::size_t closed = 0;
  for (const auto& loop : loops) {
    // An open scan's back is its longest border, and stays open: it counts as closed at the wall.
    if (loop.size() > kMostEdges || (loop.size() == longest && loops.size() == 1 && longest > 12))
      continue;
    for (std::size_t k = 2; k < loop.size(); ++k)
      mesh.triangles.emplace_back(loop[0], loop[k - 1], loop[k]);
    ++closed;
  }
  return closed;
}

std::string counted(std::size_t n, const std::string& one, const std::string& many,
                    const std::string& done) {
  return std::to_string(n) + " " + (n == 1 ? one + " was " : many + " were ") + done + ".";
}

}  // namespace

MeshDefects findDefects(const TriangleMesh& mesh) {
  MeshDefects d;
  const std::vector<int> first = firstAtPlace(mesh, 1e-9 * sizeOf(mesh));
  for (std::size_t v = 0; v < first.size(); ++v)
    d.split_vertices += first[v] != static_cast<int>(v);
  for (const Vector3i& t : mesh.triangles) d.degenerate += withoutArea(mesh, t);
  const std::vector<bool> again = repeated(mesh.triangles);
  d.duplicate = static_cast<std::size_t>(std::count(again.begin(), again.end(), true));
  std::vector<bool> used(mesh.vertices_mm.size(), false);
  for (const Vector3i& t : mesh.triangles)
    for (int k = 0; k < 3; ++k) used[t[k]] = true;
  d.loose_vertices = static_cast<std::size_t>(std::count(used.begin(), used.end(), false));
  const MeshTopology topology = buildTopology(mesh);
  d.flipped = static_cast<std::size_t>(topology.flipped_edges);
  d.surplus = static_cast<std::size_t>(topology.surplus_edges);
  d.border = static_cast<std::size_t>(topology.border_edges);
  int count = 0;
  parts(topology, mesh.triangles.size(), count);
  d.pieces = static_cast<std::size_t>(count);
  d.inside_out = signedVolume(mesh) < 0;
  return d;
}

Repaired repairMesh(const TriangleMesh& mesh) {
  Repaired out{mesh, {}};
  TriangleMesh& m = out.mesh;
  const std::vector<int> first = firstAtPlace(m, 1e-9 * sizeOf(m));
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
  const std::vector<bool> again = repeated(m.triangles);
  const std::size_t twice = keepTriangles(m, [&](std::size_t i) { return !again[i]; });
  if (twice > 0)
    out.notes.push_back(counted(twice, "repeated triangle", "repeated triangles", "dropped"));
  if (m.triangles.empty())
    throw BadInput("No triangle of the mesh has any area; export the hold's surface again.");

  MeshTopology topology = buildTopology(m);
  int count = 0;
  const std::vector<int> part = parts(topology, m.triangles.size(), count);
  std::vector<double> area(static_cast<std::size_t>(count), 0);
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
  if (crumbs > 0) {
    keepTriangles(m, [&](std::size_t i) { return area[part[i]] >= 0.01 * largest; });
    out.notes.push_back(counted(crumbs, "loose crumb", "loose crumbs", "dropped"));
    topology = buildTopology(m);
  }
  const double edges = 1.5 * static_cast<double>(m.triangles.size());
  if (topology.surplus_edges > 0.1 * edges || topology.border_edges > 0.34 * edges)
    throw BadInput("The mesh is a heap of triangles rather than a surface (" +
                   std::to_string(topology.border_edges) + " open and " +
                   std::to_string(topology.surplus_edges) +
                   " overfull edges); export it again as one closed surface.");
  if (topology.flipped_edges > 0)
    if (const std::size_t turned = agree(m, topology); turned > 0) {
      out.notes.push_back(counted(turned, "triangle that faced inwards",
                                  "triangles that faced inwards", "turned over"));
      topology = buildTopology(m);
    }
  if (topology.border_edges > 0)
    if (const std::size_t closed = closeSmallHoles(m, topology); closed > 0)
      out.notes.push_back(counted(closed, "small hole", "small holes", "closed"));
  if (signedVolume(m) < 0) {
    for (Vector3i& t : m.triangles) std::swap(t[1], t[2]);
    for (Vector3d& n : m.normals) n = -n;
    out.notes.emplace_back("The mesh was inside out and was turned.");
  }
  if (const std::size_t loose = dropLoose(m); loose > merged)
    out.notes.push_back(counted(loose - merged, "loose vertex", "loose vertices", "dropped"));
  return out;
}

}  // namespace holdshelf
