// SPDX-License-Identifier: Apache-2.0
#include "mesh/border_holes.h"

#include <algorithm>
#include <utility>

namespace holdshelf {
namespace {

using Eigen::Vector3i;

}  // namespace

std::vector<std::vector<int>> borderLoops(const TriangleMesh& mesh, const MeshTopology& topology) {
  std::vector<std::pair<int, int>> next;  // From a border edge's end back to its beginning.
  for (std::size_t h = 0; h < topology.across.size(); ++h)
    if (topology.across[h] < 0) {
      const Vector3i& t = mesh.triangles[h / 3];
      next.emplace_back(t[static_cast<int>((h % 3 + 1) % 3)], t[static_cast<int>(h % 3)]);
    }
  std::sort(next.begin(), next.end());
  // A vertex's edges lie side by side; how far they are used is kept at the first of them, since
  // thousands of loops may meet in one vertex.
  std::vector<bool> used(next.size(), false);
  std::vector<std::size_t> taken(next.size(), 0);
  const auto freeFrom = [&](int vertex) {
    const auto found = std::lower_bound(next.begin(), next.end(), std::pair<int, int>(vertex, -1));
    const auto begin = static_cast<std::size_t>(found - next.begin());
    if (begin == next.size()) return begin;
    std::size_t at = begin + taken[begin];
    for (; at < next.size() && next[at].first == vertex && used[at]; ++at) ++taken[begin];
    return at < next.size() && next[at].first == vertex ? at : next.size();
  };
  std::vector<std::vector<int>> loops;
  for (std::size_t i = 0; i < next.size(); ++i) {
    std::vector<int> loop;
    for (std::size_t at = i; at < next.size() && !used[at];) {
      used[at] = true;
      loop.push_back(next[at].first);
      at = freeFrom(next[at].second);
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

}  // namespace holdshelf
