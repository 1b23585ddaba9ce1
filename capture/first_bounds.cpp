// SPDX-License-Identifier: Apache-2.0
#include "capture/first_bounds.h"

#include <tbb/parallel_for.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "mesh/bad_input.h"
#include "mesh/isosurface.h"

namespace holdshelf {
namespace {

/// Share of the photos that see bare mat where a point would be; 1: seen by too few.
float seenThrough(const Eigen::Vector3d& point, bool on_mat,
                  const std::vector<PhotoLayer>& layers) {
  int seen = 0, through = 0;
  for (const PhotoLayer& layer : layers) {
    const auto p = layer.camera.project(point);
    if (!p) continue;
    const int x = int(std::lround(p->x())), y = int(std::lround(p->y()));
    if (x < 0 || y < 0 || x >= layer.ink.cols || y >= layer.ink.rows) continue;
    if (on_mat && layer.inkAt(x, y) == MatInk::None) continue;
    ++seen;
    through +=
        layer.bare.at<std::uint8_t>(y, x) && (!on_mat || layer.patterned.at<std::uint8_t>(y, x));
  }
  return seen < 3 ? 1.f : float(through) / float(seen);
}

}  // namespace

Eigen::AlignedBox3d stageOf(const std::vector<View>& views, const PhotoLight& light,
                            const std::optional<Eigen::AlignedBox3d>& box_mm, double floor_z_mm) {
  if (box_mm) return *box_mm;
  Eigen::AlignedBox3d box;
  if (const auto& mat = light.mat()) {
    const double floor = std::max(floor_z_mm, -5.0);
    box.extend(Eigen::Vector3d(mat->low().x(), mat->low().y(), floor));
    box.extend(Eigen::Vector3d(mat->high().x(), mat->high().y(), 1.3 * mat->halfSize()));
    return box;
  }
  // Where the optical axes meet, as far as the narrowest frame reaches.
  Eigen::Matrix3d A = Eigen::Matrix3d::Zero();
  Eigen::Vector3d b = Eigen::Vector3d::Zero();
  for (const View& view : views) {
    const Eigen::Vector3d d = view.camera.T_camera_hold.rotation().row(2).transpose();
    const Eigen::Matrix3d across = Eigen::Matrix3d::Identity() - d * d.transpose();
    A += across;
    b += across * view.camera.centre_H_mm();
  }
  const Eigen::Vector3d middle = A.ldlt().solve(b);
  double reach = 0;
  for (const View& view : views) {
    const double depth = (view.camera.T_camera_hold * middle).z();
    reach = std::max(reach,
                     depth * std::max(view.bgr.cols, view.bgr.rows) / 2 / view.camera.model.fx_px);
  }
  box.extend(Eigen::Vector3d(middle.array() - reach));
  box.extend(Eigen::Vector3d(middle.array() + reach));
  box.min().z() = std::max(box.min().z(), floor_z_mm);
  return box;
}

void boundHold(const Eigen::AlignedBox3d& stage, bool on_mat, std::vector<PhotoLayer>& layers) {
  VoxelGrid grid;
  grid.origin_mm = stage.min();
  grid.cell_mm = stage.sizes().maxCoeff() / 90;
  grid.nodes = (stage.sizes() / grid.cell_mm).array().ceil().cast<int>() + 1;
  grid.value.assign(std::size_t(grid.nodes.prod()), 1.f);
  const float tolerated = on_mat ? 0.10f : 0.25f;
  tbb::parallel_for(0, grid.nodes.z(), [&](int z) {
    for (int y = 0; y < grid.nodes.y(); ++y)
      for (int x = 0; x < grid.nodes.x(); ++x)
        grid.value[grid.index(x, y, z)] =
            seenThrough(grid.position_mm(x, y, z), on_mat, layers) - tolerated;
  });
  keepLargestSolid(grid, 0.5f);
  const TriangleMesh loose = isosurface(grid);
  if (loose.triangles.empty())
    throw BadInput(
        "Nothing that stands on the mat was found in the photos; put the hold in the middle of "
        "the mat, keep mat and hold in view, and use a hold whose colour is not the paper's.");
  for (float& v : grid.value) v += tolerated - 0.04f;
  keepLargestSolid(grid, 0.5f);
  const TriangleMesh tight = isosurface(grid);
  tbb::parallel_for(std::size_t{0}, layers.size(), [&](std::size_t i) {
    PhotoLayer& layer = layers[i];
    layer.limit = grown(drawnIn(layer.camera, loose), 5);
    layer.core = drawnIn(layer.camera, tight);
  });
}

}  // namespace holdshelf
