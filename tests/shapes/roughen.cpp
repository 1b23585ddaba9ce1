// SPDX-License-Identifier: Apache-2.0
#include "tests/shapes/roughen.h"

#include <cmath>
#include <random>

#include "mesh/mesh_topology.h"

namespace holdshelf {
namespace {

/// Rounds of averaging with the neighbours, which spread a vertex by about one edge length each;
/// the wall's vertices stay.
void blur(TriangleMesh& mesh, double smooth_mm) {
  const double edge = buildTopology(mesh).resolution_mm;
  // One round of half weight moves variance edge^2 / 4 along each of the surface's two directions.
  const int rounds = static_cast<int>(std::lround(std::pow(smooth_mm / edge, 2) * 4));
  for (int round = 0; round < rounds; ++round) {
    std::vector<Eigen::Vector3d> sum(mesh.vertices_mm.size(), Eigen::Vector3d::Zero());
    std::vector<double> count(mesh.vertices_mm.size(), 0);
    for (const Eigen::Vector3i& t : mesh.triangles)
      for (int k = 0; k < 3; ++k) {
        sum[t[k]] += mesh.vertices_mm[t[(k + 1) % 3]] + mesh.vertices_mm[t[(k + 2) % 3]];
        count[t[k]] += 2;
      }
    for (std::size_t v = 0; v < sum.size(); ++v)
      if (mesh.vertices_mm[v].z() > 0.05 && count[v] > 0)
        mesh.vertices_mm[v] = 0.5 * mesh.vertices_mm[v] + 0.5 * sum[v] / count[v];
  }
}

}  // namespace

TriangleMesh roughened(const TriangleMesh& mesh, const Roughness& r) {
  constexpr int kWaves = 300;
  TriangleMesh out = mesh;
  if (r.smooth_mm > 0) blur(out, r.smooth_mm);
  std::mt19937 random(r.seed);
  std::normal_distribution<double> wave(0, 1 / r.length_mm);
  std::uniform_real_distribution<double> phase(0, 2 * M_PI);
  std::vector<Eigen::Vector4d> waves;
  for (int i = 0; i < kWaves; ++i)
    waves.emplace_back(wave(random), wave(random), wave(random), phase(random));
  const std::vector<Eigen::Vector3d> normals = vertexNormals(out);
  for (std::size_t v = 0; v < out.vertices_mm.size(); ++v) {
    const Eigen::Vector3d p = out.vertices_mm[v];
    if (p.z() <= 0.05) continue;
    double sum = 0;
    for (const Eigen::Vector4d& w : waves) sum += std::cos(w.head<3>().dot(p) + w[3]);
    out.vertices_mm[v] += r.sigma_mm * std::sqrt(2.0 / kWaves) * sum * normals[v];
  }
  out.sigma_mm.assign(out.vertices_mm.size(), static_cast<float>(r.sigma_mm));
  return out;
}

}  // namespace holdshelf
