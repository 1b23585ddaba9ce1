// SPDX-License-Identifier: Apache-2.0
#include "capture/carve_grid.h"

#include <tbb/parallel_for.h>

#include <cstddef>

#include "mesh/bad_input.h"

namespace holdshelf {

// 8 GB. A hold half a metre long in cells of 0.5 mm takes half of it.
constexpr double kMostNodes = 2e9;

VoxelGrid gridOver(const Eigen::AlignedBox3d& box_mm, double cell_mm) {
  const Eigen::Array3d nodes = (box_mm.sizes().array() / cell_mm - 1e-9).ceil() + 1;
  if (!(nodes.max(3.0).prod() <= kMostNodes))
    throw BadInput(
        "The space that the photos leave for the hold has no size, or is too large for its cells; "
        "check the cameras and the scale.");
  VoxelGrid grid;
  grid.origin_mm = box_mm.min();
  grid.cell_mm = cell_mm;
  for (int a = 0; a < 3; ++a) grid.nodes[a] = std::max(3, int(nodes[a]));
  grid.value.assign(std::size_t(grid.nodes.x()) * grid.nodes.y() * grid.nodes.z(), Carver::kFar);
  return grid;
}

void carveGrid(const Carver& carver, VoxelGrid& grid, const Progress& progress) {
  constexpr int kBlock = 8;
  const Eigen::Vector3i blocks = (grid.nodes.array() + kBlock - 1) / kBlock;
  const float reach = float(1.5 * std::sqrt(3.0) * kBlock / 2 * grid.cell_mm);
  tbb::parallel_for(0, blocks.z() * blocks.y(), [&](int row) {
    const int z0 = row / blocks.y() * kBlock, y0 = row % blocks.y() * kBlock;
    const int z1 = std::min(z0 + kBlock, grid.nodes.z()),
              y1 = std::min(y0 + kBlock, grid.nodes.y());
    for (int x0 = 0; x0 < grid.nodes.x(); x0 += kBlock) {
      const int x1 = std::min(x0 + kBlock, grid.nodes.x());
      const Eigen::Vector3d centre =
          grid.origin_mm +
          grid.cell_mm * 0.5 * Eigen::Vector3d(x0 + x1 - 1, y0 + y1 - 1, z0 + z1 - 1);
      const float middle = carver(centre);
      const bool far = std::abs(middle) > reach && middle < Carver::kFar;
      for (int z = z0; z < z1; ++z)
        for (int y = y0; y < y1; ++y)
          for (int x = x0; x < x1; ++x)
            grid.value[grid.index(x, y, z)] = far ? middle : carver(grid.position_mm(x, y, z));
    }
  });
  if (progress && !progress("carving the hull", 0.9)) throw Interrupted();
}

}  // namespace holdshelf
