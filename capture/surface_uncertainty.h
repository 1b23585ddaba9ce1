// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <vector>

#include "capture/view.h"
#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// Turns what the matching says of each vertex into a standard uncertainty that comes true. The
/// curvature of a correlation peak counts pixels as if their errors were independent; what all
/// photos share (interpolation, shading, the patch's own blur) it does not see. So, after the
/// residuals of rendered captures,
///   sigma^2 = (0.08 s)^2 + (2 m)^2 + (0.5 h)^2
/// with s the median size of a photo's pixel on the hold, m the matching's own figure (in sigma_mm
/// on entry) and h the vertex's height over the mean of its neighbours: round and sharp places are
/// smoothed by about as much. The three factors were fitted to some captures and judged on others
/// (tests/bench/README.md, Uncertainty). Guesswork keeps what it has. Says nothing of the wall
/// plane's height or the scale, which move the surface as a whole.
///
/// @param mesh   With sigma_mm and guesswork, at the resolution of normal quality.
/// @param views  Those that it was rebuilt from.
void stateUncertainty(TriangleMesh& mesh, const std::vector<View>& views);

}  // namespace holdshelf
