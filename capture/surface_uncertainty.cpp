// SPDX-License-Identifier: Apache-2.0
#include "capture/surface_uncertainty.h"

#include <cmath>

#include "capture/median.h"

namespace holdshelf {
namespace {

constexpr double kOfPixel = 0.08, kOfMatching = 2, kOfBend = 0.5;

double pixelSize_mm(const TriangleMesh& mesh, const std::vector<View>& views) {
  Eigen::Vector3d middle = Eigen::Vector3d::Zero();
  for (const Eigen::Vector3d& v : mesh.vertices_mm) middle += v;
  middle /= static_cast<double>(mesh.vertices_mm.size());
  std::vector<double> sizes;
  for (const View& view : views)
    sizes.push_back((view.camera.T_camera_hold * middle).z() / view.camera.model.fx_px);
  return medianOf(sizes);
}

/// Height of each vertex over the mean of its neighbours, along its normal, mm.
std::vector<double> bends_mm(const TriangleMesh& mesh) {
  const std::vector<Eigen::Vector3d> normals = vertexNormals(mesh);
  std::vector<Eigen::Vector3d> sum(normals.size(), Eigen::Vector3d::Zero());
  std::vector<int> neighbours(normals.size(), 0);
  // In a closed mesh each neighbour follows a vertex in exactly one triangle.
  for (const Eigen::Vector3i& t : mesh.triangles)
    for (int k = 0; k < 3; ++k) {
      sum[t[k]] += mesh.vertices_mm[t[(k + 1) % 3]];
      ++neighbours[t[k]];
    }
  std::vector<double> bends(normals.size(), 0);
  for (size_t v = 0; v < bends.size(); ++v)
    if (neighbours[v] > 0)
      bends[v] = std::abs((sum[v] / neighbours[v] - mesh.vertices_mm[v]).dot(normals[v]));
  return bends;
}

}  // namespace

void stateUncertainty(TriangleMesh& mesh, const std::vector<View>& views) {
  if (mesh.vertices_mm.empty() || views.empty()) return;
  const double pixel_mm = pixelSize_mm(mesh, views);
  const std::vector<double> bends = bends_mm(mesh);
  for (size_t v = 0; v < bends.size(); ++v) {
    if (mesh.guesswork[v]) continue;
    const double squared = std::pow(kOfPixel * pixel_mm, 2) +
                           std::pow(kOfMatching * mesh.sigma_mm[v], 2) +
                           std::pow(kOfBend * bends[v], 2);
    mesh.sigma_mm[v] = static_cast<float>(std::sqrt(squared));
  }
}

}  // namespace holdshelf
