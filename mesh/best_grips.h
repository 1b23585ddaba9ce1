// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>
#include <vector>

#include "mesh/measure_shape.h"
#include "mesh/progress.h"
#include "mesh/searched_mesh.h"
#include "proto/shape.pb.h"

namespace holdshelf {

/// What is found at one rotation.
struct GripAt {
  std::optional<Grip> grip;  ///< None where nothing can be held.
  Section section;           ///< Through the best place, or through the middle where there is none.
};

/// Finds the best grip against a straight downward pull at each rotation: sections side by side,
/// the edges in them joined sideways into runs, the best place of the best run fitted from the
/// points as cut.
std::vector<GripAt> bestGrips(const SearchedMesh& source, const std::vector<double>& rotations_deg,
                              const MeasureOptions& options, const Progress& progress);

}  // namespace holdshelf
