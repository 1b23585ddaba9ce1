// SPDX-License-Identifier: Apache-2.0
#include "mesh/section.h"

#include <doctest/doctest.h>

#include <Eigen/Geometry>
#include <cmath>

#include "mesh/bad_input.h"
#include "mesh/outside_line.h"
#include "tests/complaint.h"
#include "tests/shapes/sdf.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using Eigen::Vector2d;
using Eigen::Vector3d;

namespace {

Eigen::AlignedBox3d around(double r) { return {Vector3d(-r, -r, -r), Vector3d(r, r, r)}; }

double lengthOf(const SectionLine& line) {
  double length = 0;
  for (std::size_t i = 0; i + (line.closed ? 0 : 1) < line.points.size(); ++i)
    length += (line.points[(i + 1) % line.points.size()].at_mm - line.points[i].at_mm).norm();
  return length;
}

double areaOf(const SectionLine& line) {
  double twice = 0;
  for (std::size_t i = 0; i < line.points.size(); ++i) {
    const Vector2d &a = line.points[i].at_mm, &b = line.points[(i + 1) % line.points.size()].at_mm;
    twice += a.x() * b.y() - a.y() * b.x();
  }
  return twice / 2;
}

TriangleMesh cube() {
  TriangleMesh mesh;
  for (int k = 0; k < 8; ++k) mesh.vertices_mm.emplace_back(k & 1, k >> 1 & 1, k >> 2 & 1);
  mesh.triangles = {{0, 2, 3}, {0, 3, 1}, {4, 5, 7}, {4, 7, 6}, {0, 1, 5}, {0, 5, 4},
                    {2, 6, 7}, {2, 7, 3}, {0, 4, 6}, {0, 6, 2}, {1, 3, 7}, {1, 7, 5}};
  return mesh;
}

}  // namespace

TEST_CASE("The pull's axes: counter-clockwise turns as the climber sees them") {
  CHECK((pullPlanes(0).right - Vector3d(0, 1, 0)).norm() < 1e-12);
  CHECK((pullPlanes(0).normal - Vector3d(1, 0, 0)).norm() < 1e-12);
  // A hold turned by 90 has its own +x side up: the pull meets it from there.
  CHECK((pullPlanes(90).right - Vector3d(1, 0, 0)).norm() < 1e-12);
  for (double r : {0.0, 33.0, 250.0}) {
    const PlaneFamily p = pullPlanes(r);
    CHECK((p.right.cross(p.up) - p.normal).norm() < 1e-12);
  }
}

TEST_CASE("Sections of a sphere are circles, clockwise, of the right radius") {
  const TriangleMesh mesh = meshSdf(sphere(40), around(41), 1);
  const MeshTopology topology = buildTopology(mesh);
  SectionCutter cutter(mesh, topology);
  for (double offset : {-38.0, -10.0, 0.0, 25.3}) {
    const SectionLines lines = cutter.cutOne(pullPlanes(17), offset);
    REQUIRE(lines.size() == 1);
    CHECK(lines[0].closed);
    const double r = std::sqrt(1600 - offset * offset);
    CHECK(lengthOf(lines[0]) == doctest::Approx(2 * M_PI * r).epsilon(2e-3));
    CHECK(areaOf(lines[0]) == doctest::Approx(-M_PI * r * r).epsilon(4e-3));  // Solid to the right.
  }
  CHECK(cutter.cutOne(pullPlanes(17), 40.5).empty());
}

TEST_CASE("One cut of a family is the same as a cut alone, and a ring gives two lines") {
  const TriangleMesh mesh = meshSdf(torus(30, 8), around(40), 1);
  const MeshTopology topology = buildTopology(mesh);
  SectionCutter family(mesh, topology), single(mesh, topology);
  PlaneFamily planes = pullPlanes(50);
  planes.first_mm = -37;
  planes.count = 75;
  family.cut(planes, [&](int k, const SectionLines& lines) {
    const SectionLines alone = single.cutOne(pullPlanes(50), planes.offset(k));
    REQUIRE(lines.size() == alone.size());
    double a = 0, b = 0;
    for (const auto& l : lines) a += lengthOf(l);
    for (const auto& l : alone) b += lengthOf(l);
    CHECK(a == doctest::Approx(b).epsilon(1e-12));
    if (std::abs(planes.offset(k)) < 21) CHECK(lines.size() == 2);
  });
}

TEST_CASE("Planes through vertices, along edges and faces: closed lines all the same") {
  const TriangleMesh mesh = cube();
  const MeshTopology topology = buildTopology(mesh);
  SectionCutter cutter(mesh, topology);
  for (double offset : {0.5, 1.0}) {  // At 1 the face lies in the plane and counts as above it.
    const SectionLines lines = cutter.cutOne(pullPlanes(0), offset);
    REQUIRE(lines.size() == 1);
    CHECK(lines[0].closed);
    CHECK(areaOf(lines[0]) == doctest::Approx(-1));
  }
  CHECK(cutter.cutOne(pullPlanes(0), 0).empty());
  // Along the diagonal, through four vertices.
  const SectionLines diagonal = cutter.cutOne(pullPlanes(45), 0);
  double area = 0;
  for (const SectionLine& l : diagonal) area += areaOf(l);
  CHECK(area == doctest::Approx(-std::sqrt(2.0)));
}

TEST_CASE("Open, turned-over and overfull meshes still give ordered lines") {
  TriangleMesh open = cube();
  open.triangles.erase(open.triangles.begin(), open.triangles.begin() + 2);  // Without its back.
  MeshTopology topology = buildTopology(open);
  CHECK(topology.border_edges == 4);
  SectionLines lines = SectionCutter(open, topology).cutOne(pullPlanes(0), 0.3);
  REQUIRE(lines.size() == 1);
  CHECK_FALSE(lines[0].closed);
  CHECK(lengthOf(lines[0]) == doctest::Approx(3));
  CHECK(lines[0].points.front().at_mm.x() == doctest::Approx(0));  // From -u over the front to +u.

  TriangleMesh flipped = cube();
  std::swap(flipped.triangles[2][1], flipped.triangles[2][2]);
  topology = buildTopology(flipped);
  CHECK(topology.flipped_edges == 3);
  lines = SectionCutter(flipped, topology).cutOne(pullPlanes(0), 0.3);
  double length = 0;
  for (const auto& l : lines) length += lengthOf(l);
  CHECK(length == doctest::Approx(4));

  TriangleMesh fin = cube();  // A third triangle on one edge.
  fin.vertices_mm.emplace_back(0.5, 0.5, 2);
  fin.triangles.emplace_back(4, 5, 8);
  topology = buildTopology(fin);
  CHECK(topology.surplus_edges == 1);
  length = 0;
  for (const auto& l : SectionCutter(fin, topology).cutOne(pullPlanes(0), 0.3))
    length += lengthOf(l);
  CHECK(length > 3.99);
}

TEST_CASE("Meshes that touch or cut themselves: every line whole, its length that of its parts") {
  // Two cubes that share an edge and its vertices: four triangles meet there.
  TriangleMesh touching = cube();
  const TriangleMesh one = cube();
  std::vector<int> moved;
  for (const Vector3d& v : one.vertices_mm) {
    const Vector3d to = v + Vector3d(0, 1, 1);
    int at = -1;
    for (std::size_t k = 0; k < one.vertices_mm.size(); ++k)
      if (one.vertices_mm[k] == to) at = static_cast<int>(k);
    if (at < 0) {
      at = static_cast<int>(touching.vertices_mm.size());
      touching.vertices_mm.push_back(to);
    }
    moved.push_back(at);
  }
  for (const auto& t : one.triangles)
    touching.triangles.emplace_back(moved[t[0]], moved[t[1]], moved[t[2]]);
  REQUIRE(touching.vertices_mm.size() == 14);
  MeshTopology topology = buildTopology(touching);
  CHECK(topology.border_edges == 0);
  double length = 0, area = 0;
  for (const SectionLine& l : SectionCutter(touching, topology).cutOne(pullPlanes(0), 0.4)) {
    CHECK(l.closed);
    length += lengthOf(l);
    area += areaOf(l);
  }
  CHECK(length == doctest::Approx(8));
  CHECK(area == doctest::Approx(-2));
  // Two balls that reach into each other keep both their circles.
  TriangleMesh balls = meshSdf(sphere(20), around(21), 1);
  const TriangleMesh other = balls;
  const int first = static_cast<int>(balls.vertices_mm.size());
  for (const Vector3d& v : other.vertices_mm) balls.vertices_mm.push_back(v + Vector3d(0, 25, 0));
  for (const auto& t : other.triangles)
    balls.triangles.emplace_back(t[0] + first, t[1] + first, t[2] + first);
  topology = buildTopology(balls);
  const SectionLines lines = SectionCutter(balls, topology).cutOne(pullPlanes(0), 0.1);
  REQUIRE(lines.size() == 2);
  for (const SectionLine& l : lines)
    CHECK(lengthOf(l) == doctest::Approx(2 * M_PI * 20).epsilon(2e-3));
}

TEST_CASE("Outside lines: the back is taken away, the facing turns from -90 over 0 to 90") {
  const Sdf half = intersect(sphere(40), halfSpace({0, 0, -1}, 0));
  const TriangleMesh mesh = meshSdf(half, around(41), 0.5);
  const MeshTopology topology = buildTopology(mesh);
  OutsideOptions options;
  const auto lines = outsideLines(SectionCutter(mesh, topology).cutOne(pullPlanes(0), 3), options);
  REQUIRE(lines.size() == 1);
  const OutsideLine& line = lines[0];
  CHECK(line.at_mm.front().x() < -39);
  CHECK(line.at_mm.back().x() > 39);
  for (std::size_t i = 3; i + 3 < line.at_mm.size(); ++i) {
    const double expected = std::atan2(line.at_mm[i].x(), line.at_mm[i].y()) * 180 / M_PI;
    CHECK(std::abs(line.facing_deg[i] - expected) < 1);
  }
}

TEST_CASE(
    "runStarts: runs one behind the other; what no mesh can cross is refused, past 2^31 too") {
  CHECK(runStarts({}) == std::vector<std::size_t>{0});
  CHECK(runStarts({3, 0, 2}) == std::vector<std::size_t>{0, 3, 3, 5});
  CHECK(runStarts({200'000'000}).back() == 200'000'000);
  const std::size_t half = std::size_t{1} << 30;
  CHECK_THROWS_AS(runStarts({half, half, half, half}), BadInput);  // 2^32: nothing in 32 bits.
  CHECK_THROWS_AS(runStarts({150'000'000, 150'000'000}), BadInput);
  CHECK_THROWS_AS(runStarts({1, ~std::size_t{0}}), BadInput);
}

TEST_CASE("Triangles that each of many planes crosses are refused before there is room made") {
  // As 16 million triangles and 400 planes were, whose crossings wrapped round in 32 bits.
  TriangleMesh mesh = cube();
  const std::vector<Eigen::Vector3i> triangles = mesh.triangles;
  for (int i = 0; i < 300; ++i)
    mesh.triangles.insert(mesh.triangles.end(), triangles.begin(), triangles.end());
  const MeshTopology topology = buildTopology(mesh);
  PlaneFamily planes = pullPlanes(0);
  planes.count = 1'000'000;  // 3612 triangles, two thirds of which all of them cross.
  planes.step_mm = 1e-6;
  SectionCutter cutter(mesh, topology);
  CHECK_THROWS_AS(cutter.cut(planes, [](int, const SectionLines&) {}), BadInput);
}

TEST_CASE("Outside lines: a pleat that goes on for more than 100 m is refused") {
  const auto pleat = [](int folds) {
    SectionLine line;
    for (int i = 0; i < folds; ++i)
      line.points.push_back({Vector2d(0.01 * i, 10 + (i % 2) * 1000), 0, 0, 0});
    return SectionLines{line};
  };
  CHECK(outsideLines(pleat(50), {}).size() == 1);
  CHECK(test::complaintOf([&] { outsideLines(pleat(150), {}); }).find("longer than 100 m") !=
        std::string::npos);
  // Nor a great many lines that are short enough each.
  SectionLines many;
  for (int i = 0; i < 3; ++i) many.push_back(pleat(50)[0]);
  CHECK_THROWS_AS(outsideLines(many, {}), BadInput);
  SectionLines endless = pleat(3);
  endless[0].points[1].at_mm.x() = 1e300;
  CHECK_THROWS_AS(outsideLines(endless, {}), BadInput);
}
