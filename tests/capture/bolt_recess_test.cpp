// SPDX-License-Identifier: Apache-2.0
#include "capture/bolt_recess.h"

#include <doctest/doctest.h>

#include <cmath>

#include "mesh/bolt_seat.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using Eigen::Vector3d;

namespace {

/// The plain edge with what photos leave of a bolt's recess: upright near the rim, then a cone.
ExactHold edgeWithPit() {
  ExactHold hold = edgeHold({});
  const Sdf pit =
      unite(translate(cylinder(10, 10), {0, 0, 38}), translate(cone(2, 10, 4), {0, 0, 24}));
  hold.solid = subtract(hold.solid, pit);
  return hold;
}

VoxelGrid gridOf(const ExactHold& hold, double cell_mm) {
  VoxelGrid grid;
  grid.cell_mm = cell_mm;
  grid.origin_mm = hold.box_mm.min() - Vector3d::Constant(2 * cell_mm);
  grid.nodes = ((hold.box_mm.sizes() / cell_mm).array() + 5).cast<int>();
  for (int z = 0; z < grid.nodes.z(); ++z)
    for (int y = 0; y < grid.nodes.y(); ++y)
      for (int x = 0; x < grid.nodes.x(); ++x)
        grid.value.push_back(static_cast<float>(
            std::clamp(hold.solid(grid.position_mm(x, y, z)), -3 * cell_mm, 3 * cell_mm)));
  return grid;
}

BoltRecess recessWith(double floor_mm) {
  BoltRecess bolt;
  bolt.recess.radius_mm = 10;
  bolt.recess.rim_mm.assign(72, 38.0);
  SeatFloor floor;
  floor.height_mm = floor_mm;
  floor.sigma_mm = 0.11;
  bolt.floor = floor;
  return bolt;
}

}  // namespace

TEST_CASE("findRecesses: an upright round pit by its wall, a finger's rounded pocket not") {
  const ExactHold hold = edgeWithPit();
  const auto found = findRecesses(meshSdf(hold.solid, hold.box_mm, 0.8));
  REQUIRE(found.size() == 1);
  CHECK(found[0].axis_mm.norm() < 0.1);
  CHECK(std::abs(found[0].radius_mm - 10) < 0.15);
  CHECK(std::abs(found[0].lowestRim_mm() - 38) < 0.4);  // The mesh breaks edges by half a cell.
  CHECK(findRecesses(meshSdf(edgeHold({}).solid, hold.box_mm, 0.8)).empty());
  const ExactHold pocket = pocketHold(44, 26, 30, 5);
  CHECK(findRecesses(meshSdf(pocket.solid, pocket.box_mm, 0.8)).empty());
}

TEST_CASE("findRecesses: a funnel and a flat dish have no upright wall to sweep by") {
  for (const Sdf& cut :
       {translate(cone(5, 12, 6), {0, 0, 33}), translate(sphere(14), {0, 0, 46})}) {
    ExactHold hold = edgeHold({});
    hold.solid = subtract(hold.solid, cut);
    CHECK(findBoltRecesses(meshSdf(hold.solid, hold.box_mm, 0.8), {}).empty());
  }
}

TEST_CASE("findBoltRecesses: half a ball's wall stands upright at its rim, but has no floor") {
  ExactHold hold = edgeHold({});
  hold.solid = subtract(hold.solid, translate(sphere(14), {0, 0, 38}));
  for (const BoltRecess& bolt : findBoltRecesses(meshSdf(hold.solid, hold.box_mm, 0.8), {}))
    CHECK_FALSE(bolt.floor);
}

TEST_CASE("carveRecesses and settleFloors: the mesh then has the seat where it was found") {
  const ExactHold hold = edgeWithPit();
  VoxelGrid grid = gridOf(hold, 0.8);
  const std::vector<BoltRecess> bolts = {recessWith(12.3)};
  carveRecesses(grid, bolts);
  TriangleMesh mesh = isosurface(grid);
  CHECK(isWatertight(mesh));
  mesh.sigma_mm.assign(mesh.vertices_mm.size(), 0.02F);
  mesh.guesswork.assign(mesh.vertices_mm.size(), 0);
  settleFloors(mesh, bolts, {});  // Without photos all of the floor is guesswork.
  const MeshTopology topology = buildTopology(mesh);
  SectionCutter cutter(mesh, topology);
  const auto seats = findBoltSeats(cutter, mesh, precisionOf(mesh, topology, 0));
  REQUIRE(seats.size() == 1);
  CHECK_FALSE(seats[0].has_bore_mm());
  CHECK(seats[0].kind() == BoltSeat::FLAT);
  CHECK(std::abs(seats[0].seat_height_mm().value() - 12.3) < 0.02);
  CHECK(seats[0].seat_height_mm().sigma() > 0.1);
  CHECK(std::abs(seats[0].recess_mm().value() - 20) < 0.2);
  CHECK(seats[0].guesswork_share() > 0.9);
}

TEST_CASE("carveRecesses: nothing is cut where the floor did not show") {
  VoxelGrid grid = gridOf(edgeWithPit(), 1.5);
  const std::vector<float> before = grid.value;
  BoltRecess bolt = recessWith(12);
  bolt.floor.reset();
  carveRecesses(grid, {bolt});
  CHECK(grid.value == before);
}

TEST_CASE("Recesses come back from a stage store as they were; other bytes do not") {
  BoltRecess deep = recessWith(0);
  deep.floor.reset();
  deep.recess.axis_mm = {1, -2};
  const std::vector<BoltRecess> recesses = {recessWith(12.25), deep};
  const std::string bytes = storedRecesses(recesses);
  const auto back = restoredRecesses(bytes);
  REQUIRE(back);
  REQUIRE(back->size() == 2);
  CHECK((*back)[0].floor->height_mm == 12.25);
  CHECK((*back)[0].recess.rim_mm == recesses[0].recess.rim_mm);
  CHECK_FALSE((*back)[1].floor);
  CHECK((*back)[1].recess.axis_mm == deep.recess.axis_mm);
  CHECK(restoredRecesses(storedRecesses({}))->empty());
  CHECK_FALSE(restoredRecesses(bytes.substr(0, bytes.size() - 8)));
  CHECK_FALSE(restoredRecesses("abc"));
  for (const double count : {1e300, -1.0, std::nan("")})
    for (const std::size_t at : {8, 9}) {  // Photos, and heights of the rim.
      CAPTURE(at);
      std::string lies = bytes;
      lies.replace(at * sizeof(double), sizeof(double), reinterpret_cast<const char*>(&count),
                   sizeof(double));
      CHECK_FALSE(restoredRecesses(lies));
    }
}
