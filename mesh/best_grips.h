// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <functional>
#include <optional>
#include <vector>

#include "mesh/measure_shape.h"
#include "mesh/mesh_topology.h"
#include "mesh/precision.h"
#include "mesh/reach.h"

namespace holdshelf {

/// A place around which there are no grips: where a bolt's head fills the hold.
struct FilledDisc {
  Eigen::Vector2d centre_mm;
  double radius_mm = 0;
};

/// All that finding grips needs of one mesh.
struct GripSource {
  const TriangleMesh& mesh;
  const MeshTopology& topology;
  const MeshPrecision& precision;
  const ReachField& reach;
  std::vector<FilledDisc> filled;
};

/// What is found at one rotation.
struct GripAt {
  std::optional<Grip> grip;  ///< None where nothing can be held.
  Section section;           ///< Through the best place, or through the middle where there is none.
};

/// Finds the best grip against a straight downward pull at each rotation: sections side by side,
/// the edges in them joined sideways into runs, the best place of the best run fitted from the
/// points as cut.
std::vector<GripAt> bestGrips(const GripSource& source, const std::vector<double>& rotations_deg,
                              const MeasureOptions& options, const Progress& progress);

}  // namespace holdshelf
