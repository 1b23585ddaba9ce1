// SPDX-License-Identifier: Apache-2.0
#include "mesh/mesh_topology.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>

namespace holdshelf {
namespace {

struct HalfEdge {
  int other;      ///< The larger vertex.
  int id;         ///< 3 * triangle + edge.
  bool forwards;  ///< From the smaller vertex to the larger.
};

/// Half-edges bucketed by their smaller vertex: a counting sort, linear in the triangles.
struct Buckets {
  std::vector<int> start;
  std::vector<HalfEdge> edges;
};

Buckets bucketEdges(const TriangleMesh& mesh) {
  Buckets b;
  b.start.assign(mesh.vertices_mm.size() + 1, 0);
  const auto low = [](const Eigen::Vector3i& t, int k) { return std::min(t[k], t[(k + 1) % 3]); };
  for (const Eigen::Vector3i& t : mesh.triangles)
    for (int k = 0; k < 3; ++k) ++b.start[low(t, k) + 1];
  for (std::size_t v = 1; v < b.start.size(); ++v) b.start[v] += b.start[v - 1];
  b.edges.resize(mesh.triangles.size() * 3);
  std::vector<int> next(b.start.begin(), b.start.end() - 1);
  for (std::size_t i = 0; i < mesh.triangles.size(); ++i) {
    const Eigen::Vector3i& t = mesh.triangles[i];
    for (int k = 0; k < 3; ++k) {
      const int from = t[k], to = t[(k + 1) % 3];
      b.edges[next[std::min(from, to)]++] = {std::max(from, to), static_cast<int>(3 * i) + k,
                                             from < to};
    }
  }
  return b;
}

/// Pairs the half-edges of one vertex that go to the same other vertex.
void pairRun(const HalfEdge* begin, const HalfEdge* end, MeshTopology& topology) {
  std::vector<int> open[2];
  for (const HalfEdge* e = begin; e != end; ++e) {
    std::vector<int>& partners = open[e->forwards ? 0 : 1];
    if (partners.empty()) {
      open[e->forwards ? 1 : 0].push_back(e->id);
      continue;
    }
    topology.across[e->id] = partners.back();
    topology.across[partners.back()] = e->id;
    partners.pop_back();
  }
  for (std::vector<int>& left : open) {
    // Two triangles that run the same way are neighbours all the same: one of them is turned over.
    while (left.size() >= 2) {
      const int a = left.back(), b = left[left.size() - 2];
      left.resize(left.size() - 2);
      topology.across[a] = b;
      topology.across[b] = a;
      ++topology.flipped_edges;
    }
    topology.border_edges += static_cast<int>(left.size());
  }
  if (end - begin > 2) topology.surplus_edges += static_cast<int>(end - begin) - 2;
}

}  // namespace

MeshTopology buildTopology(const TriangleMesh& mesh) {
  MeshTopology topology;
  topology.across.assign(mesh.triangles.size() * 3, -1);
  Buckets b = bucketEdges(mesh);
  for (std::size_t v = 0; v + 1 < b.start.size(); ++v) {
    HalfEdge* const begin = b.edges.data() + b.start[v];
    HalfEdge* const end = b.edges.data() + b.start[v + 1];
    std::sort(begin, end, [](const HalfEdge& x, const HalfEdge& y) {
      return x.other != y.other ? x.other < y.other : x.id < y.id;
    });
    for (HalfEdge* e = begin; e != end;) {
      HalfEdge* last = e;
      while (last != end && last->other == e->other) ++last;
      if (last - e == 2 && e[0].forwards != e[1].forwards) {  // The common case, without a list.
        topology.across[e[0].id] = e[1].id;
        topology.across[e[1].id] = e[0].id;
      } else {
        pairRun(e, last, topology);
      }
      e = last;
    }
  }
  std::vector<float> lengths;
  lengths.reserve(mesh.triangles.size() * 3 / 2 + 3);
  for (const Eigen::Vector3i& t : mesh.triangles)
    for (int k = 0; k < 3; ++k)
      if (t[k] < t[(k + 1) % 3])  // Each edge once, whatever the order of corners.
        lengths.push_back(
            static_cast<float>((mesh.vertices_mm[t[(k + 1) % 3]] - mesh.vertices_mm[t[k]]).norm()));
  if (!lengths.empty()) {
    const auto middle = lengths.begin() + static_cast<std::ptrdiff_t>(lengths.size() / 2);
    std::nth_element(lengths.begin(), middle, lengths.end());
    topology.resolution_mm = *middle;
  }
  return topology;
}

double estimateNoise(const TriangleMesh& mesh) {
  // One step of the umbrella operator takes noise and mean curvature out of a vertex; the same step
  // on the result sees the curvature again but little noise. Their difference is the noise.
  const std::size_t count = mesh.vertices_mm.size();
  std::vector<Eigen::Vector3d> offset(count, Eigen::Vector3d::Zero());
  std::vector<int> valence(count, 0);
  const auto accumulate = [&](const std::vector<Eigen::Vector3d>& field,
                              std::vector<Eigen::Vector3d>& sum) {
    std::fill(valence.begin(), valence.end(), 0);
    for (const Eigen::Vector3i& t : mesh.triangles)
      for (int k = 0; k < 3; ++k) {
        sum[t[k]] += field[t[(k + 1) % 3]] + field[t[(k + 2) % 3]];
        valence[t[k]] += 2;
      }
  };
  accumulate(mesh.vertices_mm, offset);
  for (std::size_t v = 0; v < count; ++v)
    offset[v] = valence[v] ? Eigen::Vector3d(mesh.vertices_mm[v] - offset[v] / valence[v])
                           : Eigen::Vector3d::Zero();
  std::vector<Eigen::Vector3d> around(count, Eigen::Vector3d::Zero());
  accumulate(offset, around);
  const std::vector<Eigen::Vector3d> normals = vertexNormals(mesh);
  std::vector<double> residuals;
  residuals.reserve(count);
  for (std::size_t v = 0; v < count; ++v)
    if (valence[v] >= 6)
      residuals.push_back(std::abs((offset[v] - around[v] / valence[v]).dot(normals[v])));
  if (residuals.empty()) return 0;
  const auto middle = residuals.begin() + static_cast<std::ptrdiff_t>(residuals.size() / 2);
  std::nth_element(residuals.begin(), middle, residuals.end());
  // White noise s on a regular 6-neighbour net: offset - mean(offset of neighbours) is
  // (1 - 2 A + A^2) x with A the mean over neighbours, whose variance sums to 1.85 s^2.
  return *middle * 1.4826 / 1.36;
}

}  // namespace holdshelf
