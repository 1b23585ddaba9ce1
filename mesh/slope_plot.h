// SPDX-License-Identifier: Apache-2.0
#pragma once
#include "mesh/pen.h"
#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// Slope of the surface against the wall plane, painted on the hold as the climber sees it and as
/// seen from above: bands of 15 degrees that grow lighter, with dark lines between them and their
/// degrees written in. What can be pulled on (beyond 75) is hatched, what falls in (beyond 105)
/// cross-hatched, so that the picture reads in greyscale. With the hold's size in mm.
Plot plotSlope(const TriangleMesh& mesh);

}  // namespace holdshelf
