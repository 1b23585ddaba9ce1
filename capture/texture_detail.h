// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <vector>

#include "capture/view.h"
#include "mesh/progress.h"
#include "mesh/texture_cells.h"
#include "mesh/triangle_mesh.h"

namespace holdshelf {

struct TextureOptions {
  double band_mm = 0.45;   ///< Standard deviation of the blur that all photos are brought to.
  double cell_mm = 8;      ///< Contrasts are stated over cells of this size.
  double spacing_mm = 1;   ///< Of the points looked at.
  int photos_a_point = 5;  ///< The best this many are compared.
  double least_cosine = 0.5;
};

/// How much fine texture the photos show on the hold, place by place.
///
/// At a point of the surface and in one photo, the detail is d = (c - s) / s, with c and s the
/// linear luminance averaged over the tangent plane by Gaussians of standard deviation `band_mm`
/// and three times that: a band-pass in millimetres of the surface, whatever the distance and
/// slant. The photo's own blur, 0.7 of its pixel as it falls on the surface, is taken off the inner
/// Gaussian, which brings sharper and coarser photos to one resolution; where it is more than 0.8
/// of band_mm the photo is left out. The contrast of a cell is the root of the mean of d_i d_j over
/// its points and all pairs i < j of photos: noise is not shared by two photos and drops out.
///
/// It rises with grit and speckle, and falls with polish, but also with chalk and soft light: it
/// says something only against the rest of the same hold in the same photos.
/// @param mesh   In frame H of the views; guesswork and all below z = 3 mm are left out.
/// @return  Without cells where no place is seen finely enough by three photos.
/// @throws Interrupted  progress returned false.
TextureCells textureDetail(const TriangleMesh& mesh, const std::vector<View>& views,
                           const Progress& progress, const TextureOptions& options = {});

}  // namespace holdshelf
