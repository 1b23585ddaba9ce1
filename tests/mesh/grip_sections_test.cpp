// SPDX-License-Identifier: Apache-2.0
#include "mesh/grip_sections.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "mesh/bad_input.h"
#include "tests/mesh/prepared_hold.h"

using namespace holdshelf;

TEST_CASE("GripSections: side by side over all of the hold, an edge in each that cuts it") {
  test::Prepared hold(test::incutEdge());
  const SearchedMesh source = hold.source();
  const GripSections sections(source, hold.options, 0, hold.cutter);
  const auto edges = sections.edgesBySlice();
  REQUIRE(edges.size() == std::size_t(sections.planes().count));
  int with = 0;
  for (std::size_t k = 0; k < edges.size(); ++k)
    if (std::abs(sections.planes().offset(int(k))) < 50) {
      // The block's own top may be another edge there.
      with += std::any_of(edges[k].begin(), edges[k].end(),
                          [](const EdgeAt& e) { return std::abs(e.edge.depth_mm - 23) < 0.3; });
    }
  CHECK(with >= int(99 / sections.planes().step_mm));
}

TEST_CASE("GripSections: one plane lies where it is asked for; beyond the hold is refused") {
  test::Prepared hold(test::incutEdge());
  const SearchedMesh source = hold.source();
  hold.options.at_offset_mm = 13.7;
  const GripSections sections(source, hold.options, 0, hold.cutter);
  CHECK(sections.planes().offset(sections.wantedSlice()) == doctest::Approx(13.7));
  CHECK(sections.middle_mm() == 13.7);
  hold.options.at_offset_mm = 900;
  CHECK_THROWS_AS(GripSections(source, hold.options, 0, hold.cutter), BadInput);
}

TEST_CASE(
    "GripSections: the edge beside is the one that continues, and none where a bolt fills it") {
  test::Prepared hold(test::incutEdge());
  SearchedMesh source = hold.source();
  const SectionEdge like = [&] {
    const GripSections sections(source, hold.options, 0, hold.cutter);
    const auto slice = std::size_t(sections.planes().count / 2);
    return sections.edgesBySlice()[slice].at(0).edge;
  }();
  const auto beside = GripSections(source, hold.options, 0, hold.cutter).edgeNear(20.3, like);
  REQUIRE(beside);
  CHECK(std::abs(beside->depth_mm - like.depth_mm) < 0.2);
  source.filled.push_back({{20, like.lip_at_mm.x()}, 15});  // At rotation 0 u is the hold's y.
  CHECK_FALSE(GripSections(source, hold.options, 0, hold.cutter).edgeNear(20.3, like));
}
