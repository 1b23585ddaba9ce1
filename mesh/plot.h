// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "mesh/triangle_mesh.h"
#include "proto/shape.pb.h"

namespace holdshelf {

/// A section to draw, of those that a shape holds.
struct SectionChoice {
  double rotation_deg = 0;
  std::optional<double> offset_mm;  ///< Unset: the one through the best place.
};

/// Writes pictures of a measured hold, each as SVG and PNG: the chosen sections (none chosen: at
/// the best rotation) as NAME-section-030 or, at a stated offset, NAME-section-030-12.5-left; the
/// rose where the shape holds a map; the slope map; every cut as NAME-cut-1 and so on.
/// @return The files' paths.
/// @throws BadInput  The folder can't be written, or the shape has no such section.
std::vector<std::filesystem::path> writePlots(const std::filesystem::path& folder,
                                              const std::string& name, const TriangleMesh& mesh,
                                              const Shape& shape,
                                              const std::vector<SectionChoice>& choices = {});

/// The grip of the map with the deepest hold, by edgeMerit(); null where there is none.
const Grip* bestGrip(const Shape& shape);

}  // namespace holdshelf
