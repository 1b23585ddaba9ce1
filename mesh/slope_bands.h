// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstddef>
#include <cstdint>
#include <vector>

#include "mesh/raster_camera.h"
#include "mesh/raster_image.h"
#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// Slopes are drawn in bands of 15 degrees, the last without end; one more for what is guesswork.
inline constexpr int kSlopeBands = 8, kUnseenBand = kSlopeBands;
inline constexpr double kSlopeBand_deg = 15;
inline constexpr int kGripBand = 5, kIncutBand = 7;  ///< Bands from 75 and from 105 degrees.

/// What a camera sees of a mesh's slopes, a band a pixel, row by row.
struct SlopeBands {
  int width_px = 0, height_px = 0;
  std::vector<std::int16_t> band;  ///< -1: nothing; kUnseenBand: the mesh is guesswork.
  std::vector<float> depth_mm;     ///< Along the camera's axis; infinity: nothing there.
  std::vector<float> light;        ///< 0.88 to 1: how much the surface faces the camera.

  std::size_t index(int x, int y) const {
    return static_cast<std::size_t>(y) * static_cast<std::size_t>(width_px) +
           static_cast<std::size_t>(x);
  }
};

/// @param slope_deg  One a vertex, against the wall plane.
SlopeBands slopeBandsOf(const TriangleMesh& mesh, const std::vector<float>& slope_deg,
                        const RasterCamera& camera);

/// Connected pixels of one band (by their sides, not corners).
struct BandPatch {
  std::vector<std::size_t> pixels;
  int band = 0;
};

/// All patches, in the order of their first pixels.
std::vector<BandPatch> patchesOf(const SlopeBands& map);

/// Patches of at most so many pixels take the band before them, so that lines stay lines.
void dropSpecks(SlopeBands& map, std::size_t pixels);

/// From pale (faces the climber) to dark (falls in), each a step darker in grey too.
Rgb bandColour(int band);

/// Paints the bands: dark lines round the shape and between bands, hatches from kGripBand, crossed
/// from kIncutBand, dots where it is guesswork.
/// @param fine    Pixels of the map a unit of the drawing: lines and hatches are as wide
/// everywhere.
/// @param shrink  Pixels of the map a pixel of the picture.
RasterImage paintedBands(const SlopeBands& map, int fine, int shrink);

}  // namespace holdshelf
