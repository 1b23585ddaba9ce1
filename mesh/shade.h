// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <vector>

#include "mesh/colour_map.h"
#include "mesh/raster.h"
#include "mesh/raster_camera.h"
#include "mesh/raster_image.h"
#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// How shadeMesh and the views below paint.
struct ShadeOptions {
  Rgb background = {255, 255, 255};
  Rgb plain = {186, 184, 178};  ///< Where the mesh has no colours or they are not wanted.
  bool vertex_colours = true;   ///< Use mesh.colours when there are any.
  std::vector<float> scalars;   ///< #V values for a heat map, or empty; NaN is grey.
  double scalar_low = 0, scalar_high = 1;
  ColourMap map = ColourMap::Sequential;
  bool smooth = true;              ///< Interpolated normals; false shows the facets.
  double occlusion_radius_mm = 8;  ///< Reach of the darkening in hollows; 0: none.
  int supersampling = 2;           ///< Rays a pixel and axis, against stair-steps (views only).
};

/// Paints what the raster shows: a soft headlight, a sky from `up`, hollows darkened by the depth
/// buffer around them.
RasterImage shadeMesh(const TriangleMesh& mesh, const RasterCamera& camera, const Raster& raster,
                      const Eigen::Vector3d& up, const ShadeOptions& options);

/// Draws and paints the mesh through a camera, supersampled.
RasterImage renderMesh(const TriangleMesh& mesh, const RasterCamera& camera,
                       const Eigen::Vector3d& up, const ShadeOptions& options = {});

/// `count` orthographic pictures from evenly spaced azimuths (the first from -y, the climber's
/// feet, then counter-clockwise seen from +z), `elevation_deg` above the wall plane; one scale.
std::vector<RasterImage> renderTurntableViews(const TriangleMesh& mesh, int count,
                                              double elevation_deg, int width_px, int height_px,
                                              const ShadeOptions& options = {});

}  // namespace holdshelf
