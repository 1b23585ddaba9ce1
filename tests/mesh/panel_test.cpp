// SPDX-License-Identifier: Apache-2.0
#include "tests/shapes/panel.h"

#include <doctest/doctest.h>

#include "mesh/measure_shape.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;

TEST_CASE("Exact panel: every dimension within its tolerance from meshes of 0.5 mm resolution") {
  const std::vector<ExactHold> panel = exactPanel();
  CHECK(panel.size() >= 40);
  for (const ExactHold& hold : panel) {
    const TriangleMesh mesh = meshSdf(hold.solid, hold.box_mm, 0.5);
    const Shape shape = measureAtRotation(mesh, hold.edge_rotation_deg);
    for (const PanelCheck& check : checkShape(hold, shape)) {
      INFO(check.hold << ", " << check.quantity << ": " << check.measured << " for "
                      << check.truth);
      CHECK(std::abs(check.error()) <= check.tolerance());
    }
  }
}
