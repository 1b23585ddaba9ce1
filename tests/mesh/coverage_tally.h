// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cmath>
#include <random>
#include <vector>

#include "mesh/triangle_mesh.h"
#include "proto/shape.pb.h"

namespace holdshelf {

/// How a number's errors compare with its stated uncertainties, over many trials.
struct CoverageTally {
  int inside = 0, all = 0;  ///< Within twice the stated uncertainty, of so many.
  double squares = 0;

  void add(const Measured& m, double truth) {
    const double z = (m.value() - truth) / m.sigma();
    inside += std::abs(z) <= 2;
    squares += z * z;
    ++all;
  }
  double rms() const { return std::sqrt(squares / all); }  ///< Of errors over uncertainties.
};

/// The mesh with independent noise along its normals on all vertices off the wall. Every other
/// trial brings the vertices' uncertainties with it; in the others they have to be estimated.
inline TriangleMesh withNoise(const TriangleMesh& exact, double sigma_mm, int trial,
                              std::mt19937& random) {
  std::normal_distribution<double> noise(0, sigma_mm);
  const std::vector<Eigen::Vector3d> normals = vertexNormals(exact);
  TriangleMesh noisy = exact;
  for (std::size_t v = 0; v < noisy.vertices_mm.size(); ++v)
    if (noisy.vertices_mm[v].z() > 0.05) noisy.vertices_mm[v] += noise(random) * normals[v];
  if (trial % 2 == 0) noisy.sigma_mm.assign(noisy.vertices_mm.size(), static_cast<float>(sigma_mm));
  return noisy;
}

}  // namespace holdshelf
