// SPDX-License-Identifier: Apache-2.0
#include "capture/offset_balance.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <utility>

namespace holdshelf {
namespace {

using Eigen::Vector3d;

/// One over the variance of what the outlines say; 0: nothing.
double outlineTrust(const BalanceInput& input, size_t v) {
  if (input.pulls.empty() || input.pulls[v].sigma_mm <= 0) return 0;
  return input.outline_weight / (input.pulls[v].sigma_mm * input.pulls[v].sigma_mm);
}

double meanVertexArea(const TriangleMesh& mesh) {
  double twice = 0;
  for (const Eigen::Vector3i& t : mesh.triangles) {
    const Vector3d& a = mesh.vertices_mm[t[0]];
    twice += (mesh.vertices_mm[t[1]] - a).cross(mesh.vertices_mm[t[2]] - a).norm();
  }
  return twice / 2 / static_cast<double>(mesh.vertices_mm.size());
}

}  // namespace

Balance balanceOffsets(const TriangleMesh& mesh, const BalanceInput& input) {
  const size_t count = mesh.vertices_mm.size();
  std::vector<double> offset(count, 0.0), next(count);
  std::vector<Vector3d> laplace(count);
  const double stiffness = 1 / (input.smooth_mm * input.smooth_mm);
  const double vertex_mm2 = meanVertexArea(mesh);
  for (size_t v = 0; v < count; ++v)
    offset[v] = input.findings[v].sigma_mm > 0 ? input.findings[v].offset_mm : 0;
  const auto at = [&](int v) {
    return Vector3d(mesh.vertices_mm[v] + offset[v] * mesh.normals[v]);
  };
  for (int step = 0; step < input.steps; ++step) {
    tbb::parallel_for(size_t{0}, count, [&](size_t v) {
      Vector3d mean = Vector3d::Zero();
      for (int u : input.rings[v]) mean += at(u);
      laplace[v] = mean / static_cast<double>(input.rings[v].size()) - at(static_cast<int>(v));
    });
    tbb::parallel_for(size_t{0}, count, [&](size_t v) {
      next[v] = 0;
      if (input.pinned[v]) return;
      Vector3d mean = Vector3d::Zero();
      bool at_rim = false;
      for (int u : input.rings[v]) {
        mean += laplace[u];
        at_rim = at_rim || input.pinned[u];
      }
      const double degree = static_cast<double>(input.rings[v].size());
      // Next to the sharp rim the plate would bend round it: a plain membrane there.
      const Vector3d second = at_rim ? Vector3d(-laplace[v] * 0.3)
                                     : Vector3d((mean / degree - laplace[v]) / (1 + 1 / degree));
      const double smooth = offset[v] - second.dot(mesh.normals[v]);
      const VertexFinding& f = input.findings[v];
      // The patches of neighbours overlap and err together: each has only its share of a say.
      const double sharing = std::max(1.0, 0.5 * f.patch_mm2 / vertex_mm2);
      const double variance = std::max(f.sigma_mm * f.sigma_mm, 1e-5) * sharing;
      const double trust = f.sigma_mm > 0 ? 1 / variance : 0;
      const double pull = outlineTrust(input, v);
      const double pulled = pull > 0 ? input.pulls[v].offset_mm : 0;
      next[v] =
          (trust * f.offset_mm + pull * pulled + stiffness * smooth) / (trust + pull + stiffness);
    });
    std::swap(offset, next);
  }
  return {std::move(offset), std::move(laplace)};
}

}  // namespace holdshelf
