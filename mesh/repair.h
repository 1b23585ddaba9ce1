// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "mesh/triangle_mesh.h"

namespace holdshelf {

struct Repaired {
  TriangleMesh mesh;
  std::vector<std::string> notes;  ///< One sentence a repair, for people; empty: nothing was wrong.
};

/// Makes a mesh measurable: merges vertices at one place, drops triangles without area, repeated
/// ones, loose vertices and small crumbs, turns triangles so that neighbours agree and outside is
/// outside, closes small holes (up to 60 edges) away from the back with a fan.
///
/// Attributes of merged vertices are taken from the first. Nothing else moves.
/// @throws BadInput  Hopeless: nothing is left, or more than a tenth of the edges are shared by
///                   more than two triangles or open, so that no surface can be followed.
Repaired repairMesh(const TriangleMesh& mesh);

/// For meshes that were measured and stored elsewhere, whose numbers are kept as they are: drops
/// triangles that name the same three corners as an earlier one, or a corner twice. A few megabytes
/// can name one triangle millions of times. Nothing else is changed, so that a repaired mesh stays
/// itself.
/// @throws BadInput  None is left.
TriangleMesh withoutRepeats(TriangleMesh mesh);

}  // namespace holdshelf
