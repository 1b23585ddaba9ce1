// SPDX-License-Identifier: Apache-2.0
#include "catalog/lip_curve.h"
#include "catalog/mounting_row.h"
#include "catalog/search_row.h"
#include "tests/reliability/fuzz/target.h"

using namespace holdshelf;

namespace {

std::vector<std::string> seeds() {
  Hold hold;
  Shape& shape = *hold.add_scans()->mutable_shape();
  shape.mutable_protrusion_mm()->set_value(30);
  shape.add_grips()->mutable_edge_depth_mm()->set_value(12);
  return {packSearchRow(hold)};
}

/// A row as search reads it, with all that is packed inside.
void take(const std::string& bytes) {
  const SearchRow row = unpackSearchRow(bytes);
  (void)unpackLips(row.lips);
}

const test::FuzzTarget target("row", take, seeds);

}  // namespace
