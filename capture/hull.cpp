// SPDX-License-Identifier: Apache-2.0
#include "capture/hull.h"

#include <algorithm>

#include "capture/carve_grid.h"
#include "capture/hull_bounds.h"
#include "capture/outline_field.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

Eigen::AlignedBox3d boundByFields(const std::vector<View>& views, const Carver& carver,
                                  const HullOptions& options) {
  Eigen::AlignedBox3d box;
  if (options.box_mm) {
    box = *options.box_mm;
  } else {
    const Gaze gaze = commonGaze(views);
    const Eigen::Vector3d r = Eigen::Vector3d::Constant(gaze.radius_mm);
    box = {gaze.centre - r, gaze.centre + r};
  }
  return shrunkToHull(aboveFloor(box, options.floor_z_mm), carver);
}

}  // namespace

Eigen::AlignedBox3d boundByMasks(const std::vector<View>& views, const HullOptions& options) {
  const auto fields = outlineFields(views);
  if (fields.size() < 3) return {};
  return boundByFields(views, Carver(fields, options.outvoted, options.min_seen_by), options);
}

Hull carveHull(const std::vector<View>& views, const HullOptions& options,
               const Progress& progress) {
  if (progress && !progress("carving the hull", 0)) throw Interrupted();
  const auto fields = outlineFields(views);
  if (fields.size() < 3)
    throw BadInput("The hold was found in only " + std::to_string(fields.size()) +
                   " photos, three are the least; take photos all round it on an uncluttered mat.");
  const Carver carver(fields, options.outvoted, options.min_seen_by);
  const Eigen::AlignedBox3d bound = boundByFields(views, carver, options);
  const auto nothing = [] {
    return BadInput(
        "The hold's outlines in the photos have no body in common; the hold or the mat moved "
        "between photos, or the cameras given are wrong: shoot the hold again without touching "
        "it.");
  };
  if (bound.isEmpty()) throw nothing();
  Eigen::AlignedBox3d box(bound.min() - Eigen::Vector3d::Constant(options.margin_mm),
                          bound.max() + Eigen::Vector3d::Constant(options.margin_mm));
  if (options.box_mm) box = box.intersection(*options.box_mm);
  box = aboveFloor(box, options.floor_z_mm);

  Hull hull;
  const double cell =
      options.cell_mm > 0 ? options.cell_mm : std::max(box.sizes().maxCoeff() / 160, 0.05);
  hull.grid = gridOver(box, cell);
  carveGrid(carver, hull.grid, progress);
  keepLargestSolid(hull.grid, float(cell));
  hull.mesh = isosurface(hull.grid);
  if (hull.mesh.triangles.empty()) throw nothing();
  for (const auto& v : hull.mesh.vertices_mm) hull.box_mm.extend(v);
  return hull;
}

}  // namespace holdshelf
