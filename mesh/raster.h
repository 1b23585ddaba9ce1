// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <Eigen/Geometry>
#include <cstdint>
#include <limits>
#include <vector>

#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// A camera without distortion, for drawing meshes. Camera frame: x right, y down, z forward;
/// pixel centres lie at whole numbers.
/// Perspective: u = fx x/z + cx. Orthographic: u = fx x + cx, with fx in pixels a millimetre.
struct RasterCamera {
  int width_px = 0;
  int height_px = 0;
  double fx = 0, fy = 0, cx = 0, cy = 0;
  Eigen::Isometry3d T_camera_mesh = Eigen::Isometry3d::Identity();  ///< Mesh frame to camera, mm.
  bool orthographic = false;

  /// (u px, v px, depth mm); u and v mean nothing when a perspective depth is not positive.
  Eigen::Vector3d project(const Eigen::Vector3d& point_mm) const;
};

/// What a camera sees of a mesh, row by row, one entry a pixel.
struct Raster {
  int width_px = 0;
  int height_px = 0;
  std::vector<float> depth_mm;           ///< Along the camera's axis; infinity: nothing there.
  std::vector<std::int32_t> triangle;    ///< -1: nothing there.
  std::vector<Eigen::Vector2f> weights;  ///< Of the triangle's 2nd and 3rd vertex, on the surface.

  std::size_t index(int x, int y) const { return std::size_t(y) * std::size_t(width_px) + x; }
  bool covered(std::size_t i) const { return triangle[i] >= 0; }
};

/// Draws the mesh into a depth buffer. Both sides of a triangle are drawn. A triangle that comes
/// nearer to a perspective camera's centre plane than 1 mm is left out, not clipped.
/// About 20 ns a triangle and core for meshes whose triangles are of pixel size.
Raster rasterise(const TriangleMesh& mesh, const RasterCamera& camera);

/// Unit surface normals (mesh frame) at the covered pixels, smooth where `vertex_normals` has one
/// normal a vertex, else flat; zero elsewhere.
std::vector<Eigen::Vector3f> rasterNormals(const TriangleMesh& mesh, const Raster& raster,
                                           const std::vector<Eigen::Vector3d>& vertex_normals);

using Rgb = std::array<std::uint8_t, 3>;

/// A picture, 8-bit sRGB, row by row.
struct RasterImage {
  int width_px = 0;
  int height_px = 0;
  std::vector<std::uint8_t> rgb;  ///< 3 a pixel.
};

enum class ColourMap {
  Sequential,  ///< Dark blue, green, yellow: a quantity from low to high.
  Diverging    ///< Blue, white, red: a signed deviation.
};

/// Colour of t in 0..1 (clamped); mid grey for NaN.
Rgb mapColour(ColourMap map, double t);

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

/// An orthographic camera that looks at the mesh from `from` (a direction towards the viewer, mesh
/// frame) with `up` upwards in the picture, the mesh's box filling all but `margin` of it.
RasterCamera fitOrthographic(const TriangleMesh& mesh, const Eigen::Vector3d& from,
                             const Eigen::Vector3d& up, int width_px, int height_px,
                             double margin = 0.04);

/// Draws and paints the mesh through a camera, supersampled.
RasterImage renderMesh(const TriangleMesh& mesh, const RasterCamera& camera,
                       const Eigen::Vector3d& up, const ShadeOptions& options = {});

/// `count` orthographic pictures from evenly spaced azimuths (the first from -y, the climber's
/// feet, then counter-clockwise seen from +z), `elevation_deg` above the wall plane; one scale.
std::vector<RasterImage> renderTurntableViews(const TriangleMesh& mesh, int count,
                                              double elevation_deg, int width_px, int height_px,
                                              const ShadeOptions& options = {});

}  // namespace holdshelf
