// SPDX-License-Identifier: Apache-2.0
#include "capture/dense_surface.h"

#include <algorithm>
#include <cmath>

#include "capture/stage.h"
#include "capture/stored_stages.h"
#include "mesh/bad_input.h"
#include "mesh/remesh.h"

namespace holdshelf {
namespace {

// A mask's edge errs by so much, and the hull of many masks by all that errs inwards.
constexpr double kMaskDoubt_px = 1;

/// Median over the views of a photo pixel's size on the hold.
double footprintMm(const std::vector<View>& views, const Eigen::Vector3d& centre) {
  std::vector<double> sizes;
  for (const View& view : views)
    sizes.push_back((view.camera.T_camera_hold * centre).z() / view.camera.model.fx_px);
  std::nth_element(sizes.begin(), sizes.begin() + sizes.size() / 2, sizes.end());
  return sizes[sizes.size() / 2];
}

/// The isosurface with even triangles and its back exactly on the wall.
TriangleMesh evenSurface(const VoxelGrid& grid, double edge_mm, bool on_wall) {
  TriangleMesh mesh = isosurface(grid);
  if (mesh.triangles.empty())
    throw BadInput(
        "No surface was found in the photos: the hold must be seen sharp in most of "
        "them; shoot again with more light.");
  // The interpolation keeps off the nodes by a thousandth of a cell.
  if (on_wall)
    for (Eigen::Vector3d& v : mesh.vertices_mm)
      if (v.z() < 0.01 * grid.cell_mm) v.z() = 0;
  RemeshOptions options;
  options.edge_mm = edge_mm;
  options.keep_wall_rim = on_wall;
  return remesh(mesh, options);
}

std::vector<DepthMap> depthMaps(const std::vector<View>& views, const Hull& hull,
                                const PatchMatchOptions& options, std::vector<StageTime>& times,
                                const Progress& progress, const StageStore& store) {
  if (const auto bytes = store.read("depth"))
    if (auto maps = restoredDepth(*bytes, times)) return std::move(*maps);
  Stage matching(progress, "Measuring depth", 1);
  std::vector<DepthMap> maps = matchDepth(views, RayScene(hull.mesh), options, progress);
  matching.end(times);
  store.write("depth", storedDepth(maps, {times.back()}));
  return maps;
}

DenseSurface fusedSurface(const std::vector<View>& views, const Hull& hull,
                          const DenseOptions& options, std::vector<StageTime>& times,
                          const Progress& progress, const StageStore& store) {
  const std::size_t before = times.size();
  if (auto restored = restoredSurface("fused", times, store)) return std::move(*restored);
  std::vector<DepthMap> maps = depthMaps(views, hull, options.match, times, progress, store);
  Stage fusing(progress, "Fusing the surface", 1);
  keepConfirmedDepth(maps, options.fuse);
  VoxelGrid grid = fuseDepth(maps, hull.grid, options.fuse);
  DenseSurface surface;
  if (options.fuse.close_at_wall) {
    surface.recesses = findBoltRecesses(isosurface(grid), views);
    carveRecesses(grid, surface.recesses);
  }
  surface.mesh = evenSurface(grid, options.edge_mm, options.fuse.close_at_wall);
  fusing.end(times);
  storeSurface("fused", surface, {times.begin() + std::ptrdiff_t(before), times.end()}, store);
  return surface;
}

}  // namespace

DenseOptions denseOptions(const std::vector<View>& views, const Hull& hull, Quality quality,
                          bool close_at_wall) {
  const double footprint = footprintMm(views, hull.box_mm.center());
  const double raster_mm = quality == Quality::Draft ? 1.0 : quality == Quality::Fine ? 0.35 : 0.5;
  const double size_mm = hull.box_mm.sizes().maxCoeff();
  DenseOptions out;
  out.match.finest_scale = std::min(1.0, footprint / raster_mm);
  out.match.levels = 2;
  // A grid of some ten million nodes at most.
  out.fuse.cell_mm = std::max({1.3 * footprint / out.match.finest_scale, size_mm / 260, 0.3});
  out.fuse.close_at_wall = close_at_wall;
  out.fuse.hull_slack_mm = out.refine.hull_slack_mm = kMaskDoubt_px * footprint;
  out.edge_mm = out.fuse.cell_mm;
  out.refine.on_wall = close_at_wall;
  return out;
}

DenseSurface denseSurface(const std::vector<View>& views, const Hull& hull,
                          const DenseOptions& options, std::vector<StageTime>& times,
                          const Progress& progress, const StageStore& store) {
  DenseSurface surface = fusedSurface(views, hull, options, times, progress, store);
  Stage refining(progress, "Refining the surface", 1);
  refineSurface(surface.mesh, views, hull.grid, options.refine, progress);
  refining.end(times);
  return surface;
}

void storeSurface(const std::string& stage, const DenseSurface& surface,
                  const std::vector<StageTime>& times, const StageStore& store) {
  store.write(stage + "-recesses", storedRecesses(surface.recesses));
  store.write(stage, storedMesh(surface.mesh, times));
}

std::optional<DenseSurface> restoredSurface(const std::string& stage, std::vector<StageTime>& times,
                                            const StageStore& store) {
  const auto bytes = store.read(stage), holes = store.read(stage + "-recesses");
  if (!bytes || !holes) return std::nullopt;
  auto recesses = restoredRecesses(*holes);
  if (!recesses) return std::nullopt;
  auto mesh = restoredMesh(*bytes, times);
  if (!mesh) return std::nullopt;
  return DenseSurface{std::move(*mesh), std::move(*recesses)};
}

}  // namespace holdshelf
