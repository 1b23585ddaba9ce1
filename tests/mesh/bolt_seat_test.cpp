// SPDX-License-Identifier: Apache-2.0
// Exact solids: a recess that ends in a flat floor, as scans from photos leave it.
#include "mesh/bolt_seat.h"

#include <doctest/doctest.h>

#include <cmath>

#include "mesh/measure_shape.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;

namespace {

ExactHold withBlindRecess(double radius_mm, double floor_mm, const Eigen::Vector2d& axis_mm) {
  ExactHold hold = edgeHold({});
  hold.solid = subtract(
      hold.solid, translate(cylinder(radius_mm, 50), {axis_mm.x(), axis_mm.y(), floor_mm + 50}));
  return hold;
}

std::vector<BoltSeat> seatsOf(const TriangleMesh& mesh) {
  const MeshTopology topology = buildTopology(mesh);
  SectionCutter cutter(mesh, topology);
  return findBoltSeats(cutter, mesh, precisionOf(mesh, topology, 0));
}

TriangleMesh meshOf(const ExactHold& hold, double cell_mm = 0.6) {
  return meshSdf(hold.solid, hold.box_mm, cell_mm);
}

}  // namespace

TEST_CASE("A recess without a visible bore is a seat without a bore, and a note says so") {
  for (double floor : {9.0, 12.0, 23.7}) {
    CAPTURE(floor);
    const ExactHold hold = withBlindRecess(10, floor, {4, -3});
    const Shape shape = measureAtRotation(meshOf(hold), 0);
    REQUIRE(shape.bolt_seats_size() == 1);
    const BoltSeat& seat = shape.bolt_seats(0);
    CHECK_FALSE(seat.has_bore_mm());
    CHECK_FALSE(seat.screw());
    CHECK(std::abs(seat.seat_height_mm().value() - floor) < 0.03);
    CHECK(seat.seat_height_mm().sigma() > 0);
    CHECK(std::abs(seat.recess_mm().value() - 20) < 0.15);
    CHECK(std::hypot(seat.axis_mm().x() - 4, seat.axis_mm().y() + 3) < 0.05);
    REQUIRE(shape.notes_size() > 0);
    CHECK(shape.notes(shape.notes_size() - 1).find("bore does not show") != std::string::npos);
    CHECK(shape.pockets_size() == 0);
  }
}

TEST_CASE("What a finger goes into is no blind seat: rounded rim, sloping wall, round bottom") {
  CHECK(seatsOf(meshOf(pocketHold(26, 26, 30, 5))).empty());
  ExactHold dish = edgeHold({});
  dish.solid = subtract(dish.solid, translate(sphere(12), {0, 0, 36}));
  CHECK(seatsOf(meshOf(dish)).empty());
  ExactHold funnel = edgeHold({});
  funnel.solid = subtract(funnel.solid, translate(cone(6, 12, 10), {0, 0, 28.5}));
  CHECK(seatsOf(meshOf(funnel)).empty());
  // As wide as three fingers.
  CHECK(seatsOf(meshOf(withBlindRecess(18, 12, {0, 0}))).empty());
}

TEST_CASE("A bolt's bore comes before a recess without one, a screw's hole last") {
  ExactHold hold = withBlindRecess(9, 12, {-25, 0});
  ExactBolt bolt, screw;
  screw.axis_mm = {28, 4};
  screw.bore_mm = 5;
  screw.recess_mm = 10;
  hold = withBolt(withBolt(hold, bolt), screw);
  const auto seats = seatsOf(meshOf(hold, 0.5));
  REQUIRE(seats.size() == 3);
  CHECK(std::abs(seats[0].bore_mm().value() - 11) < 0.2);
  CHECK_FALSE(seats[1].has_bore_mm());
  CHECK(seats[2].screw());
}

TEST_CASE("A blind floor that brings an uncertainty of its own states it whole") {
  TriangleMesh mesh = meshOf(withBlindRecess(10, 12, {0, 0}));
  mesh.sigma_mm.assign(mesh.vertices_mm.size(), 0.02F);
  mesh.guesswork.assign(mesh.vertices_mm.size(), 0);
  for (std::size_t v = 0; v < mesh.vertices_mm.size(); ++v)
    if (std::abs(mesh.vertices_mm[v].z() - 12) < 0.05 &&
        mesh.vertices_mm[v].head<2>().norm() < 9.5) {
      mesh.sigma_mm[v] = 0.3F;
      mesh.guesswork[v] = mesh.vertices_mm[v].x() > 0;
    }
  const auto seats = seatsOf(mesh);
  REQUIRE(seats.size() == 1);
  CHECK(seats[0].seat_height_mm().sigma() == doctest::Approx(std::hypot(0.3, 0.08)).epsilon(0.05));
  CHECK(seats[0].guesswork_share() == doctest::Approx(0.5).epsilon(0.1));
}
