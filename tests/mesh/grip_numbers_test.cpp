// SPDX-License-Identifier: Apache-2.0
#include "mesh/grip_numbers.h"

#include <doctest/doctest.h>

#include <cmath>
#include <utility>
#include <vector>

#include "mesh/best_grips.h"
#include "mesh/grip_sections.h"
#include "tests/mesh/prepared_hold.h"

using namespace holdshelf;

TEST_CASE("setEdgeNumbers: the numbers of an exact edge, each within three of its uncertainties") {
  test::Place place;
  const GripSections& sections = place.sections;
  const double offset = sections.planes().offset(place.best.edge().slice);
  OutsideLine line;
  for (OutsideLine& each :
       outsideLines(sections.cutter().cutOne(sections.planes(), offset), sections.outside()))
    if (each.length_mm() > line.length_mm()) line = std::move(each);
  Grip grip;
  const EdgeFit fit = setEdgeNumbers(sections, *place.best.run, place.best.at, line, grip);
  const auto near = [](const Measured& found, double truth) {
    CAPTURE(found.value());
    CAPTURE(found.sigma());
    CHECK(found.sigma() > 0);
    CHECK(std::abs(found.value() - truth) < 3 * found.sigma());
  };
  near(grip.edge_depth_mm(), 23);
  near(grip.incut_deg(), 25);
  near(grip.lip_radius_mm(), 2);
  CHECK(grip.edge_along_mm().value() > grip.edge_depth_mm().value());
  CHECK(grip.edge_depth_mm().value() == fit.depth_mm);
  CHECK_FALSE(grip.lip_sharp());
  CHECK(grip.guesswork_share() == 0);
}

TEST_CASE("setEdgeNumbers: vertices that are less sure make numbers that are less sure") {
  const auto sigmaAt = [](float sigma_mm) {
    test::Prepared hold(test::incutEdge());
    hold.mesh.sigma_mm.assign(hold.mesh.vertices_mm.size(), sigma_mm);
    hold.precision = precisionOf(hold.mesh, hold.topology, 0);
    const SearchedMesh source = hold.source();
    return bestGrips(source, {0}, hold.options, {}).at(0).grip->edge_depth_mm().sigma();
  };
  CHECK(sigmaAt(0.2F) > 2 * sigmaAt(0.02F));
}
