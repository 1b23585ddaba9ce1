// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <vector>

#include "capture/outline_pull.h"
#include "capture/vertex_search.h"
#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// What the balance is struck between.
struct BalanceInput {
  const std::vector<std::vector<int>>& rings;  ///< vertexRings() of the mesh.
  const std::vector<char>& pinned;             ///< #V: stays where it is.
  const std::vector<VertexFinding>& findings;  ///< #V.
  const std::vector<OutlinePull>& pulls;       ///< #V, or empty: the outlines say nothing.
  double smooth_mm = 0.06;    ///< Expected departure of a vertex from the smooth surface around it.
  double outline_weight = 4;  ///< Of the silhouettes against the photos' agreement.
  int steps = 40;             ///< Of relaxation (Jacobi).
};

struct Balance {
  std::vector<double> offset_mm;         ///< #V, along the mesh's normals.
  std::vector<Eigen::Vector3d> laplace;  ///< #V: from the vertex to its ring's mean, moved so.
};

/// Balances offsets along the normals against a thin-plate term: each vertex goes to the mean of
/// what the photos found, what the outlines pull to and where the surface around it would have it,
/// weighted by the reciprocal of their variances. Patches of neighbours overlap and err together,
/// so that each has only its share of a say; next to pinned vertices a plain membrane takes the
/// plate's place, which would bend round the rim. Source: Desbrun M et al., "Implicit fairing of
/// irregular meshes using diffusion and curvature flow", SIGGRAPH 1999 (the umbrella operator and
/// its square).
Balance balanceOffsets(const TriangleMesh& mesh, const BalanceInput& input);

}  // namespace holdshelf
