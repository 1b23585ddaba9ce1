// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <string>
#include <vector>

#include "mesh/triangle_mesh.h"
#include "proto/shape.pb.h"

namespace holdshelf {

/// A picture in both forms.
struct Plot {
  std::string svg;
  std::string png;
};

/// The section through the best place at a rotation of the map, drawn to scale with the wall to the
/// left and the pull downwards: edge depth, lip radius, incut and width dimensioned in words and
/// mm.
/// @throws BadInput  The shape has no section at that rotation.
Plot plotSection(const Shape& shape, double rotation_deg);

/// Edge depth, lip radius and incut around the whole turn, one rose each.
Plot plotRose(const Shape& shape);

/// Slope of the surface, painted on the hold as the climber sees it and as seen from above, with a
/// scale that runs from dark to light.
Plot plotSlope(const TriangleMesh& mesh);

/// Writes section (at the best rotation and at each of `rotations_deg`), rose and slope map as
/// NAME-section-030.svg, .png and so on; returns the files' paths.
/// @throws BadInput  The folder can't be written.
std::vector<std::filesystem::path> writePlots(const std::filesystem::path& folder,
                                              const std::string& name, const TriangleMesh& mesh,
                                              const Shape& shape,
                                              const std::vector<double>& rotations_deg = {});

/// The grip of the map with the deepest hold, by edgeMerit(); null where there is none.
const Grip* bestGrip(const Shape& shape);

}  // namespace holdshelf
