// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <optional>
#include <vector>

#include "mesh/measure_shape.h"
#include "mesh/triangle_mesh.h"
#include "mesh/unit_check.h"

namespace holdshelf {

struct MeasureFileOptions {
  /// Of PLY, STL and OBJ files; unset: millimetres, refused where the size speaks for another unit.
  std::optional<LengthUnit> unit;
  double up_deg = 0;        ///< See HoldFrameOptions.
  bool keep_frame = false;  ///< The file is in the hold frame already; move nothing.
  MeasureOptions measure;
};

/// A mesh made ready for measuring: read, repaired, brought into the hold frame.
struct PreparedMesh {
  TriangleMesh mesh;
  std::vector<std::string> notes;  ///< What was changed, a sentence each.
};
/// @throws BadInput  No mesh, hopeless, another unit, or without a flat back.
PreparedMesh prepareMesh(const std::filesystem::path& path, const MeasureFileOptions& options = {});

/// From a mesh file to its numbers; what was changed on the way is in the shape's notes.
Shape measureFile(const std::filesystem::path& path, const MeasureFileOptions& options = {},
                  const Progress& progress = {});

}  // namespace holdshelf
