// SPDX-License-Identifier: Apache-2.0
#include "mesh/orientation.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <utility>
#include <vector>

namespace holdshelf {
namespace {

using Eigen::Vector3d;
using Eigen::Vector3i;

}  // namespace

std::size_t turnTogether(TriangleMesh& mesh, const MeshTopology& topology) {
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

double signedVolume_mm3(const TriangleMesh& mesh) {
  Vector3d middle = Vector3d::Zero();
  for (const Vector3d& v : mesh.vertices_mm) middle += v;
  middle /= std::max<double>(1, static_cast<double>(mesh.vertices_mm.size()));
  double six = 0;
  for (const Vector3i& t : mesh.triangles)
    six += (mesh.vertices_mm[t[0]] - middle)
               .dot((mesh.vertices_mm[t[1]] - middle).cross(mesh.vertices_mm[t[2]] - middle));
  return six / 6;
}

}  // namespace holdshelf
