// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <vector>

#include "mesh/edge_run.h"
#include "mesh/grip_sections.h"
#include "mesh/measure_shape.h"
#include "mesh/searched_mesh.h"
#include "mesh/section.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

namespace holdshelf::test {

/// A hold's mesh with all that grips are found in.
struct Prepared {
  TriangleMesh mesh;
  MeshTopology topology = buildTopology(mesh);
  MeshPrecision precision = precisionOf(mesh, topology, 0);
  ReachField reach{mesh};
  MeasureOptions options;
  SectionCutter cutter{mesh, topology};

  explicit Prepared(const ExactHold& hold) : mesh(meshSdf(hold.solid, hold.box_mm, 0.5)) {}
  SearchedMesh source() const { return {mesh, topology, precision, reach, {}}; }
};

/// The demo edge of the exact holds, coarse.
inline TriangleMesh edgeMesh() {
  const ExactHold hold = holdNamed("edge");
  return meshSdf(hold.solid, hold.box_mm, 1);
}

/// 23 mm deep, 110 mm wide with square ends, falls in by 25 degrees to a sharp root.
inline ExactHold incutEdge(double lip_radius_mm = 2) {
  return edgeHold({.depth_mm = 23,
                   .lip_radius_mm = lip_radius_mm,
                   .incut_deg = 25,
                   .width_mm = 110,
                   .root_radius_mm = 0,
                   .end_blend_mm = 0});
}

/// The best place of that edge at rotation 0, ready to be measured.
struct Place {
  Prepared hold{incutEdge()};
  SearchedMesh source = hold.source();
  GripSections sections{source, hold.options, 0, hold.cutter};
  std::vector<EdgeRun> runs = joinSideways(sections.edgesBySlice(), sections.planes().step_mm);
  RunPlace best = *bestPlace(runs, sections.planes().step_mm, 16, 5);
};

}  // namespace holdshelf::test
