// SPDX-License-Identifier: Apache-2.0
#include <cmath>
#include <stdexcept>

#include "catalog/grip_model.h"
#include "catalog/lip_curve.h"
#include "catalog/mounting_row.h"
#include "catalog/search_row.h"
#include "mesh/measure_shape.h"
#include "tests/reliability/fuzz/filled_message.h"
#include "tests/reliability/fuzz/target.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;

namespace {

std::vector<std::string> seeds() {
  Hold hold;
  Shape& shape = *hold.add_scans()->mutable_shape();
  shape.mutable_protrusion_mm()->set_value(30);
  shape.add_grips()->mutable_edge_depth_mm()->set_value(12);
  return {packSearchRow(hold)};
}

std::vector<std::string> roughSeeds() {
  Hold measured, filled;
  const ExactHold solid = holdNamed("edge");
  Scan& scan = *measured.add_scans();
  *scan.mutable_shape() = measureShape(meshSdf(solid.solid, solid.box_mm, 4));
  *scan.mutable_grip_map() = makeGripMap(GripModel(scan.shape()));
  test::fillMessage(filled);
  return {packSearchRow(measured), packSearchRow(filled)};
}

/// A row as search reads it, with all that is packed inside.
void take(const std::string& bytes) {
  const SearchRow row = unpackSearchRow(bytes);
  (void)unpackLips(row.lips);
  const MostUse most = mostUse(row.mountings);
  for (const MountingSpan& span : {MountingSpan{}, MountingSpan{330, 390, 17, 45}}) {
    (void)most.handMayReach(span.wall_angle_deg, 0.5);
    for (const auto& use : {mostForce(row.mountings, span), bestStand(row.mountings, span)})
      if (use && !(std::isfinite(use->fraction) && std::isfinite(use->rotation_deg)))
        throw std::logic_error("a use that is no number");
  }
}

const test::FuzzTarget target("row", take, seeds, roughSeeds);

}  // namespace
