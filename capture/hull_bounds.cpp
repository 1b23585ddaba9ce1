// SPDX-License-Identifier: Apache-2.0
#include "capture/hull_bounds.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <opencv2/imgproc.hpp>
#include <utility>

#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

/// Box of the samples inside, each with half a cell's diagonal around it; empty: none.
Eigen::AlignedBox3d occupiedBox(const VoxelGrid& grid) {
  Eigen::AlignedBox3d box;
  // A thin part may pass between samples: whatever comes within a cell counts.
  const float reach = float(0.87 * grid.cell_mm);
  for (int z = 0; z < grid.nodes.z(); ++z)
    for (int y = 0; y < grid.nodes.y(); ++y)
      for (int x = 0; x < grid.nodes.x(); ++x)
        if (grid.value[grid.index(x, y, z)] < reach) box.extend(grid.position_mm(x, y, z));
  if (box.isEmpty()) return box;
  const Eigen::Vector3d pad = Eigen::Vector3d::Constant(grid.cell_mm);
  return {box.min() - pad, box.max() + pad};
}

}  // namespace

Gaze commonGaze(const std::vector<View>& views) {
  Eigen::Matrix3d A = Eigen::Matrix3d::Zero();
  Eigen::Vector3d b = Eigen::Vector3d::Zero();
  std::vector<std::pair<const View*, cv::Rect>> seen;
  for (const View& view : views) {
    if (view.mask.empty()) continue;
    const cv::Rect r = cv::boundingRect(view.mask >= 128);
    if (r.empty()) continue;
    seen.push_back({&view, r});
    const Eigen::Vector3d d = (view.camera.T_camera_hold.rotation().transpose() *
                               view.camera.model.ray({r.x + r.width / 2.0, r.y + r.height / 2.0}))
                                  .normalized();
    const Eigen::Matrix3d across = Eigen::Matrix3d::Identity() - d * d.transpose();
    A += across;
    b += across * view.camera.centre_H_mm();
  }
  Gaze gaze;
  gaze.centre = A.ldlt().solve(b);
  std::vector<double> reach;
  for (const auto& [view, r] : seen) {
    const Eigen::Vector3d c = view->camera.T_camera_hold * gaze.centre;
    if (!(c.z() > 0)) continue;
    const auto middle = view->camera.project(gaze.centre);
    const double far_px =
        std::hypot(std::max(std::abs(r.x - middle->x()), std::abs(r.x + r.width - middle->x())),
                   std::max(std::abs(r.y - middle->y()), std::abs(r.y + r.height - middle->y())));
    reach.push_back(far_px * c.z() / view->camera.model.fx_px);
  }
  if (reach.empty()) throw BadInput("The cameras do not look at one place; check their poses.");
  // One view's mask may be the whole picture by mistake, hence not the largest.
  std::sort(reach.begin(), reach.end());
  gaze.radius_mm = reach[std::size_t(0.9 * double(reach.size() - 1))] * 1.15;
  return gaze;
}

Eigen::AlignedBox3d aboveFloor(Eigen::AlignedBox3d box_mm, double floor_z_mm) {
  box_mm.min().z() = std::max(box_mm.min().z(), floor_z_mm);
  return box_mm;
}

Eigen::AlignedBox3d shrunkToHull(Eigen::AlignedBox3d box_mm, const Carver& carver) {
  constexpr int kCoarse = 48;
  for (int pass = 0; pass < 3; ++pass) {
    if (box_mm.isEmpty()) break;
    const double extent = box_mm.sizes().maxCoeff();
    VoxelGrid grid = gridOver(box_mm, extent / kCoarse);
    carveGrid(carver, grid, {});
    Eigen::AlignedBox3d smaller = occupiedBox(grid);
    if (smaller.isEmpty()) return smaller;
    smaller = smaller.intersection(box_mm);
    const bool settled = smaller.sizes().maxCoeff() > 0.8 * extent;
    box_mm = smaller;
    if (settled) break;
  }
  if (box_mm.isEmpty()) box_mm.setEmpty();
  return box_mm;
}

}  // namespace holdshelf
