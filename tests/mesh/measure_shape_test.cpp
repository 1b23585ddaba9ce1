// SPDX-License-Identifier: Apache-2.0
#include "mesh/measure_shape.h"

#include <doctest/doctest.h>

#include <Eigen/Geometry>
#include <cmath>
#include <random>

#include "mesh/hold_frame.h"
#include "mesh/slope_map.h"
#include "tests/complaint.h"
#include "tests/mesh/coverage_tally.h"
#include "tests/mesh/prepared_hold.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/roughen.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using Eigen::Vector3d;

namespace {

TriangleMesh meshOf(const ExactHold& hold, double cell) {
  return meshSdf(hold.solid, hold.box_mm, cell);
}

const Grip* gripAt(const Shape& shape, double rotation) {
  for (const Grip& g : shape.grips())
    if (std::abs(std::remainder(g.rotation_deg() - rotation, 360)) < 0.01) return &g;
  return nullptr;
}

/// A block with a slot from the front, for a pull downwards on the slot's lower side. The block's
/// own top slopes by 60 degrees, so that it is no grip itself.
TriangleMesh slotted(double opening, double depth, double sideways = 200) {
  const Sdf block = intersect(translate(box({30, 55, 20}), {0, 35, 20}),
                              halfSpace({0, 0.5, std::sqrt(0.75)}, 8 + 40 * std::sqrt(0.75)));
  const Sdf slot = translate(box({sideways / 2, opening / 2, depth}), {0, 0, 40});
  const Sdf solid = intersect(subtract(block, slot), halfSpace({0, 0, -1}, 0));
  return meshSdf(solid, {Vector3d(-31, -21, -1), Vector3d(31, 91, 41)}, 0.5);
}

/// The depth of the slot's lower side, or 0: its lip lies at u = -opening / 2.
double slotDepth(const TriangleMesh& mesh, double opening) {
  MeasureOptions options;
  const Shape shape = measureAtRotation(mesh, 0, options);
  const Grip* grip = gripAt(shape, 0);
  return grip && std::abs(grip->lip_height_mm() + opening / 2) < 1.5 ? grip->edge_depth_mm().value()
                                                                     : 0;
}

}  // namespace

TEST_CASE("A published incut edge, both conventions of depth") {
  // Bioengineering 11(4):370, 2024: an instrumented hold 110 mm wide, 23 mm deep, 25 degrees incut.
  // 23 mm perpendicular to the wall are 23 / cos 25 = 25.378 mm along the surface.
  const Shape shape = measureAtRotation(meshOf(test::incutEdge(0), 0.5), 0);
  const Grip* grip = gripAt(shape, 0);
  REQUIRE(grip);
  CHECK(std::abs(grip->edge_depth_mm().value() - 23) < 0.1);
  CHECK(std::abs(grip->edge_along_mm().value() - 25.378) < 0.25);
  CHECK(std::abs(grip->incut_deg().value() - 25) < 0.3);
  CHECK(std::abs(grip->edge_width_mm().value() - 110) < 0.5);
  CHECK(grip->fingers() == 4);
  CHECK(grip->lip_sharp());
}

TEST_CASE("Slope of a rounded hold") {
  // Fuss et al., Sports Technology 6(3), 2013: 34 degrees at 45 mm and 22 degrees at 30 mm from the
  // crest; one radius of 80 mm (inferred) explains both: asin(45/80) = 34.23, asin(30/80) = 22.02.
  const Sdf round = intersect(translate(rotate(cylinder(80, 40), 90, {0, 1, 0}), {0, 0, -20}),
                              halfSpace({0, 0, -1}, 0));
  const TriangleMesh mesh = meshSdf(round, {Vector3d(-41, -80, -1), Vector3d(41, 80, 61)}, 1);
  const std::vector<float> slope = slopeMap_deg(mesh);
  int at_45 = 0, at_30 = 0;
  for (std::size_t v = 0; v < slope.size(); ++v) {
    const Vector3d& p = mesh.vertices_mm[v];
    if (std::abs(p.x()) > 35 || p.z() < 2) continue;
    const double y = std::abs(p.y());
    if (y < 25 || y > 50) continue;
    CHECK(std::abs(slope[v] - std::asin(y / 80) * 180 / M_PI) < 0.5);
    at_45 += std::abs(y - 45) < 1;
    at_30 += std::abs(y - 30) < 1;
  }
  CHECK(at_45 > 50);
  CHECK(at_30 > 50);
}

TEST_CASE("A slot counts only where a finger of 16 mm comes in") {
  CHECK(slotDepth(slotted(20, 25), 20) == doctest::Approx(25).epsilon(0.01));
  // A ball of 16 mm sinks 8 - sqrt(64 - 49) = 4.1 mm into a slot of 14 mm, and no deeper.
  const double narrow = slotDepth(slotted(14, 25), 14);
  CHECK(narrow < 8);
  CHECK(slotDepth(slotted(6, 25), 6) == 0);
  // Open upwards but shut sideways: a pit 10 mm wide is no edge either.
  CHECK(slotDepth(slotted(30, 25, 10), 30) < 8);
}

TEST_CASE("A cavity that only opens to the wall is out of reach, a bolt hole is no edge") {
  const Sdf hollow =
      intersect(subtract(translate(sphere(45), {0, 0, 0}), translate(sphere(30), {0, 0, -2})),
                halfSpace({0, 0, -1}, 0));
  const Shape shape =
      measureAtRotation(meshSdf(hollow, {Vector3d(-46, -46, -1), Vector3d(46, 46, 46)}, 0.8), 0);
  const Grip* grip = gripAt(shape, 0);
  REQUIRE(grip);
  CHECK(grip->lip_z_mm() == doctest::Approx(45).epsilon(0.01));  // The dome, not the hollow in it.

  const ExactHold dome = holdNamed("dome");
  const Shape bolted = measureAtRotation(meshOf(dome, 0.8), 0);
  REQUIRE(gripAt(bolted, 0));
  CHECK(std::abs(gripAt(bolted, 0)->offset_mm()) + std::abs(gripAt(bolted, 0)->lip_height_mm()) >
        8);
}

TEST_CASE("Turning the mesh shifts the map; mirroring mirrors it; scaling scales it") {
  const ExactHold hold = holdNamed("edge");
  const TriangleMesh mesh = meshOf(hold, 0.7);
  MeasureOptions options;
  options.rotation_step_deg = 30;
  const Shape shape = measureShape(mesh, options);
  const TriangleMesh turned =
      moved(mesh, Eigen::Isometry3d(Eigen::AngleAxisd(M_PI / 3, Vector3d::UnitZ())));
  const Shape turned_shape = measureShape(turned, options);
  for (const Grip& g : shape.grips()) {
    const Grip* same = gripAt(turned_shape, g.rotation_deg() - 60);
    REQUIRE(same);
    CAPTURE(g.rotation_deg());
    CHECK(std::abs(same->edge_depth_mm().value() - g.edge_depth_mm().value()) < 0.15);
    CHECK(std::abs(same->incut_deg().value() - g.incut_deg().value()) < 0.5);
  }
  CHECK(turned_shape.volume_mm3().value() ==
        doctest::Approx(shape.volume_mm3().value()).epsilon(1e-9));
  CHECK(turned_shape.longest_extent_mm().value() ==
        doctest::Approx(shape.longest_extent_mm().value()).epsilon(1e-9));

  TriangleMesh mirrored = mesh, doubled = mesh;
  for (Vector3d& v : mirrored.vertices_mm) v.x() = -v.x();
  for (auto& t : mirrored.triangles) std::swap(t[1], t[2]);
  const Shape mirrored_shape = measureShape(mirrored, options);
  for (const Grip& g : shape.grips()) {
    const Grip* same = gripAt(mirrored_shape, -g.rotation_deg());
    REQUIRE(same);
    CHECK(std::abs(same->edge_depth_mm().value() - g.edge_depth_mm().value()) < 0.15);
    CHECK(std::abs(same->edge_width_mm().value() - g.edge_width_mm().value()) < 1.1);
  }
  for (Vector3d& v : doubled.vertices_mm) v *= 2;
  const Shape big = measureShape(doubled, options);
  CHECK(big.volume_mm3().value() == doctest::Approx(8 * shape.volume_mm3().value()).epsilon(1e-9));
  CHECK(big.surface_area_mm2().value() ==
        doctest::Approx(4 * shape.surface_area_mm2().value()).epsilon(0.01));
  CHECK(big.protrusion_mm().value() ==
        doctest::Approx(2 * shape.protrusion_mm().value()).epsilon(1e-9));
  CHECK(gripAt(big, 0)->edge_depth_mm().value() ==
        doctest::Approx(2 * gripAt(shape, 0)->edge_depth_mm().value()).epsilon(0.005));
  CHECK(gripAt(big, 0)->lip_radius_mm().value() ==
        doctest::Approx(2 * gripAt(shape, 0)->lip_radius_mm().value()).epsilon(0.03));
}

TEST_CASE("A mesh and its fourfold refinement agree") {
  const ExactHold hold = holdNamed("jug");
  const Shape coarse = measureAtRotation(meshOf(hold, 0.9), 0),
              fine = measureAtRotation(meshOf(hold, 0.45), 0);
  const Grip &a = coarse.grips(0), &b = fine.grips(0);
  CHECK(std::abs(a.edge_depth_mm().value() - b.edge_depth_mm().value()) < 0.1);
  CHECK(std::abs(a.lip_radius_mm().value() - b.lip_radius_mm().value()) < 0.24);
  CHECK(std::abs(a.incut_deg().value() - b.incut_deg().value()) < 0.3);
  CHECK(coarse.volume_mm3().value() == doctest::Approx(fine.volume_mm3().value()).epsilon(2e-3));
}

TEST_CASE("Coverage: noise moves each number by no more than its stated uncertainty predicts") {
  const ExactHold hold = holdNamed("edge");
  const TriangleMesh exact = meshOf(hold, 0.7);
  std::mt19937 random(20);
  const double sigma = 0.06;
  CoverageTally depth, incut, radius, protrusion, seat, volume;
  const double true_volume = measureAtRotation(exact, 0).volume_mm3().value();
  for (int trial = 0; trial < 24; ++trial) {
    const Shape shape = measureAtRotation(withNoise(exact, sigma, trial, random), 0);
    const Grip* grip = gripAt(shape, 0);
    REQUIRE(grip);
    depth.add(grip->edge_depth_mm(), *hold.edge_depth_mm);
    incut.add(grip->incut_deg(), *hold.incut_deg);
    radius.add(grip->lip_radius_mm(), *hold.lip_radius_mm);
    protrusion.add(shape.protrusion_mm(), hold.protrusion_mm);
    volume.add(shape.volume_mm3(), true_volume);
    REQUIRE(shape.bolt_seats_size() == 1);
    seat.add(shape.bolt_seats(0).seat_height_mm(), hold.bolt->seat_height_mm);
  }
  // Two sigma hold 95 % of a normal law: of 24, 20 or fewer have a chance below 1 %.
  for (const auto& [name, tally] : {std::pair<std::string, CoverageTally&>("depth", depth),
                                    {"incut", incut},
                                    {"radius", radius},
                                    {"protrusion", protrusion},
                                    {"seat", seat},
                                    {"volume", volume}}) {
    CAPTURE(name);
    CAPTURE(tally.rms());
    CHECK(tally.inside >= 21);
  }
}

TEST_CASE("An edge with vertices of which nothing is known is measured still, and says so") {
  const ExactHold hold = holdNamed("edge");
  for (const float sigma : {1e4f, 1e8f, 1e30f}) {
    CAPTURE(sigma);
    TriangleMesh mesh = meshOf(hold, 1.0);
    mesh.sigma_mm.assign(mesh.vertices_mm.size(), 0.02f);
    for (std::size_t v = 0; v < mesh.sigma_mm.size(); v += 20) mesh.sigma_mm[v] = sigma;
    const Shape shape = measureAtRotation(mesh, 0);
    const Grip* grip = gripAt(shape, 0);
    REQUIRE(grip);
    CHECK(std::abs(grip->edge_depth_mm().value() - *hold.edge_depth_mm) < 0.3);
    CHECK(grip->edge_depth_mm().sigma() > 1);
  }
}

TEST_CASE("A chip 6 mm deep keeps its lip's radius on coarse meshes too") {
  EdgeSpec chip;
  chip.depth_mm = 6, chip.lip_radius_mm = 1.5, chip.incut_deg = 0, chip.width_mm = 26;
  chip.protrusion_mm = 8, chip.root_radius_mm = 1, chip.lip_y_mm = 6, chip.floor_mm = 5;
  chip.front_mm = 14, chip.end_blend_mm = 3;
  for (double cell : {0.4, 0.7, 1.0}) {
    CAPTURE(cell);
    const Shape shape = measureAtRotation(meshOf(edgeHold(chip), cell), 0);
    REQUIRE(shape.grips_size() == 1);
    CHECK(std::abs(shape.grips(0).edge_depth_mm().value() - 6) < 0.1);
    CHECK(std::abs(shape.grips(0).lip_radius_mm().value() - 1.5) < (cell < 1 ? 0.1 : 0.2));
  }
}

TEST_CASE("Roughness that neighbours share, as of surfaces from photos, does not draw lips") {
  for (const auto& [depth, radius, incut] :
       {std::tuple<double, double, double>{20, 5, 0}, {8, 1.5, 0}, {14, 3, -15}}) {
    CAPTURE(radius);
    EdgeSpec spec;
    spec.depth_mm = depth, spec.lip_radius_mm = radius, spec.incut_deg = incut;
    spec.width_mm = 40, spec.end_blend_mm = 0, spec.root_radius_mm = 1.5;
    spec.protrusion_mm = depth + 4;
    const TriangleMesh exact = meshOf(edgeHold(spec), 0.7);
    double mean = 0;
    int inside = 0;
    for (std::uint32_t trial = 1; trial <= 6; ++trial) {
      const Shape shape = measureAtRotation(
          roughened(exact, {.sigma_mm = 0.07, .length_mm = 0.7, .seed = trial}), 0);
      REQUIRE(shape.grips_size() == 1);
      const Grip& grip = shape.grips(0);
      mean += grip.lip_radius_mm().value() / 6;
      for (const auto& [m, truth] : {std::pair<Measured, double>{grip.lip_radius_mm(), radius},
                                     {grip.edge_depth_mm(), depth},
                                     {grip.incut_deg(), incut}})
        inside += std::abs(m.value() - truth) <= 2 * m.sigma();
    }
    CHECK(std::abs(mean - radius) < 0.2);
    CHECK(inside >= 15);  // Of 18.
  }
}

TEST_CASE("A bolt and two screws, or none: each seat where it was cut, of its kind") {
  EdgeSpec spec;
  spec.end_blend_mm = 0;
  ExactHold hold = edgeHold(spec);
  CHECK(measureAtRotation(meshOf(hold, 0.7), 0).bolt_seats_size() == 0);
  ExactBolt bolt, screw;
  bolt.seat_height_mm = 14;
  screw.seat = ExactBolt::Seat::Cone;
  screw.seat_height_mm = 9, screw.bore_mm = 5, screw.recess_mm = 10;
  hold = withBolt(hold, bolt);
  for (double x : {-32.0, 30.0}) {
    screw.axis_mm = {x, -4};
    hold = withBolt(hold, screw);
  }
  const Shape shape = measureAtRotation(meshOf(hold, 0.5), 0);
  REQUIRE(shape.bolt_seats_size() == 3);
  const BoltSeat& first = shape.bolt_seats(0);
  CHECK_FALSE(first.screw());
  CHECK(first.kind() == BoltSeat::FLAT);
  CHECK(std::hypot(first.axis_mm().x(), first.axis_mm().y()) < 0.05);
  CHECK(std::abs(first.seat_height_mm().value() - 14) < 0.1);
  for (int i : {1, 2}) {
    const BoltSeat& seat = shape.bolt_seats(i);
    CHECK(seat.screw());
    CHECK(seat.kind() == BoltSeat::CONE);
    CHECK(std::abs(seat.axis_mm().y() + 4) < 0.05);
    CHECK(std::abs(seat.seat_height_mm().value() - 9) < 0.1);
    CHECK(std::abs(seat.bore_mm().value() - 5) < 0.1);
    CHECK(std::abs(seat.cone_deg().value() - 90) < 2);
  }
  CHECK(std::abs(shape.bolt_seats(1).axis_mm().x() + shape.bolt_seats(2).axis_mm().x() + 2) < 0.1);
}

TEST_CASE(
    "A screw's seat close to the wall: the bore's mouth, cut off by the mesh, is not the bore") {
  EdgeSpec spec;  // A chip that two screws hold.
  spec.depth_mm = 5, spec.lip_radius_mm = 1, spec.incut_deg = 6, spec.protrusion_mm = 7;
  spec.width_mm = 30, spec.root_radius_mm = 1, spec.lip_y_mm = 10, spec.floor_mm = 10;
  spec.front_mm = 22, spec.end_blend_mm = 3;
  ExactBolt screw;
  screw.seat = ExactBolt::Seat::Cone;
  screw.seat_height_mm = 2.5, screw.bore_mm = 5, screw.recess_mm = 10;
  ExactHold hold = edgeHold(spec);
  for (const double x : {-8.0, 8.0}) {
    screw.axis_mm = {x, -2};
    hold = withBolt(hold, screw);
  }
  for (const double cell_mm : {0.5, 1.0, 1.2}) {
    CAPTURE(cell_mm);
    const Shape shape = measureAtRotation(meshOf(hold, cell_mm), 0);
    REQUIRE(shape.bolt_seats_size() == 2);
    for (const BoltSeat& seat : shape.bolt_seats()) {
      CHECK(seat.screw());
      CHECK(seat.kind() == BoltSeat::CONE);
      CHECK(std::abs(seat.seat_height_mm().value() - 2.5) < 0.25);
      CHECK(std::abs(seat.bore_mm().value() - 5) < 0.2);
    }
  }
}

TEST_CASE("Two bars on one plate: a pinch each, at its width") {
  const auto bar = [](double x, double width) {
    return translate(box({width / 2, 30, 25}), {x, 0, 25});
  };
  const Sdf solid =
      intersect(unite(unite(bar(-45, 24), bar(45, 40)), translate(box({75, 40, 4}), {0, 0, 4})),
                halfSpace({0, 0, -1}, 0));
  const Shape shape =
      measureAtRotation(meshSdf(solid, {Vector3d(-76, -41, -1), Vector3d(76, 41, 51)}, 0.8), 0);
  int narrow = 0, wide = 0;
  for (const Pinch& p : shape.pinches()) {
    if (std::abs(std::remainder(p.direction_deg(), 180)) > 1) continue;
    narrow += std::abs(p.width_mm().value() - 24) < 0.1 && std::abs(p.centre_mm().x() + 45) < 0.5;
    wide += std::abs(p.width_mm().value() - 40) < 0.1 && std::abs(p.centre_mm().x() - 45) < 0.5;
  }
  CHECK(narrow == 1);
  CHECK(wide == 1);
}

TEST_CASE("Bad meshes and interruption") {
  CHECK_THROWS_AS(measureShape({}), BadInput);
  TriangleMesh mesh = meshOf(holdNamed("chip"), 1);
  for (Vector3d& v : mesh.vertices_mm) v *= 1e6;
  CHECK_THROWS_AS(measureShape(mesh), BadInput);
  for (Vector3d& v : mesh.vertices_mm) v *= 1e-12;
  CHECK_THROWS_AS(measureShape(mesh), BadInput);
  mesh = meshOf(holdNamed("chip"), 1);
  for (Vector3d& v : mesh.vertices_mm) v.z() -= 50;
  CHECK_THROWS_AS(measureShape(mesh), BadInput);
  mesh = meshOf(holdNamed("chip"), 1);
  CHECK_THROWS_AS(measureShape(mesh, {.rotation_step_deg = 7}), BadInput);
  int calls = 0;
  CHECK_THROWS_AS(measureShape(mesh, {}, [&](const std::string&, double) { return ++calls < 5; }),
                  Interrupted);
  CHECK(calls >= 5);
}

TEST_CASE("PreparedHold: answers at any place as a measurement from scratch does") {
  const TriangleMesh mesh = slotted(30, 20);
  const PreparedHold prepared(mesh);
  for (const double rotation : {0.0, 35.0, 180.0})
    for (const double offset : {-12.0, 0.0, 20.5}) {
      CAPTURE(rotation);
      CAPTURE(offset);
      MeasureOptions options;
      options.at_offset_mm = offset;
      const Shape scratch = measureAtRotation(mesh, rotation, options);
      const Shape shape = prepared.at(rotation, offset);
      REQUIRE(shape.grips_size() == scratch.grips_size());
      REQUIRE(shape.sections_size() == 1);
      CHECK(shape.sections(0).SerializeAsString() == scratch.sections(0).SerializeAsString());
      if (shape.grips_size() == 1)
        CHECK(shape.grips(0).SerializeAsString() == scratch.grips(0).SerializeAsString());
    }
  CHECK_THROWS_AS(prepared.at(0, 500), BadInput);
  CHECK_THROWS_AS(PreparedHold(TriangleMesh{}), BadInput);
}

TEST_CASE("PreparedHold: the size is judged before what costs the more the larger the mesh is") {
  TriangleMesh mesh;
  for (const Vector3d& v :
       {Vector3d(0, 0, 0), Vector3d(9e8, 0, 0), Vector3d(0, 9e8, 0), Vector3d(0, 0, 9e8)})
    mesh.vertices_mm.push_back(v);
  // So many that the reach would be refused for them, and were worked at for minutes before.
  for (int i = 0; i < 5'000; ++i)
    for (const Eigen::Vector3i& t : {Eigen::Vector3i(0, 2, 1), {0, 1, 3}, {0, 3, 2}, {1, 2, 3}})
      mesh.triangles.push_back(t);
  CHECK(test::complaintOf([&] { PreparedHold{mesh}; }).find("mm long, which no hold is") !=
        std::string::npos);
}
