// SPDX-License-Identifier: Apache-2.0
#include "mesh/hold_frame.h"

#include <doctest/doctest.h>

#include <cmath>

#include "mesh/bad_input.h"
#include "mesh/repair.h"
#include "mesh/unit_check.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using Eigen::Vector3d;

namespace {

TriangleMesh edgeMesh() {
  const ExactHold hold = holdNamed("edge");
  return meshSdf(hold.solid, hold.box_mm, 1);
}

std::string complaint(const std::function<void()>& run) {
  try {
    run();
  } catch (const BadInput& e) {
    return e.what();
  }
  return "";
}

TriangleMesh scaled(TriangleMesh mesh, double factor) {
  for (Vector3d& v : mesh.vertices_mm) v *= factor;
  return mesh;
}

}  // namespace

TEST_CASE("A hold in any position comes back into its frame") {
  const TriangleMesh mesh = edgeMesh();
  for (double angle : {0.4, 1.7, 3.0}) {
    Eigen::Isometry3d away = Eigen::Isometry3d::Identity();
    away.translate(Vector3d(300, -20, 75));
    away.rotate(Eigen::AngleAxisd(angle, Vector3d(1, 0.3, 0.2).normalized()));
    const HoldFrame frame = findHoldFrame(moved(mesh, away));
    CHECK(frame.moved);
    CHECK(frame.notes.size() == 2);
    const Eigen::Isometry3d round = frame.T_hold_mesh * away;
    // The back lies on the wall and the bolt's axis on z; how it is turned about z is not known.
    CHECK((round.linear() * Vector3d::UnitZ() - Vector3d::UnitZ()).norm() < 2e-3);
    CHECK(round.translation().norm() < 0.15);
  }
}

TEST_CASE("A mesh in its frame is not moved; --up turns it") {
  const TriangleMesh mesh = edgeMesh();
  CHECK_FALSE(findHoldFrame(mesh).moved);
  const HoldFrame turned = findHoldFrame(mesh, {.up_deg = 90});
  CHECK((turned.T_hold_mesh.linear() * Vector3d(-1, 0, 0) - Vector3d(0, 1, 0)).norm() < 1e-9);
}

TEST_CASE("An open scan lies on its border; a ball has no back") {
  TriangleMesh open = edgeMesh();
  std::erase_if(open.triangles, [&](const Eigen::Vector3i& t) {
    return open.vertices_mm[t[0]].z() < 0.6 && open.vertices_mm[t[1]].z() < 0.6 &&
           open.vertices_mm[t[2]].z() < 0.6;
  });
  Eigen::Isometry3d away(Eigen::AngleAxisd(2.2, Vector3d::UnitX()));
  const HoldFrame frame = findHoldFrame(repairMesh(moved(open, away)).mesh);
  CHECK(((frame.T_hold_mesh * away).linear() * Vector3d::UnitZ() - Vector3d::UnitZ()).norm() <
        0.02);
  const TriangleMesh ball = meshSdf(sphere(30), {Vector3d(-31, -31, -31), Vector3d(31, 31, 31)}, 1);
  CHECK(complaint([&] { findHoldFrame(ball); }).find("no flat back") != std::string::npos);
}

TEST_CASE("Repair: each defect is found, mended and told") {
  const TriangleMesh whole = edgeMesh();
  CHECK(repairMesh(whole).notes.empty());
  const MeshDefects none = findDefects(whole);
  CHECK(none.border == 0);
  CHECK(none.pieces == 1);
  CHECK_FALSE(none.inside_out);

  TriangleMesh soup;  // Every triangle with corners of its own, as text STL files have them.
  for (const auto& t : whole.triangles) {
    const int first = static_cast<int>(soup.vertices_mm.size());
    for (int k = 0; k < 3; ++k) soup.vertices_mm.push_back(whole.vertices_mm[t[k]]);
    soup.triangles.emplace_back(first, first + 1, first + 2);
  }
  CHECK(isWatertight(repairMesh(soup).mesh));

  TriangleMesh bad = whole;
  bad.triangles.push_back(bad.triangles[5]);  // Twice.
  bad.triangles.emplace_back(3, 3, 9);        // No area.
  bad.vertices_mm.emplace_back(0, 0, 500);    // Loose.
  for (int i = 100; i < 130; ++i)
    std::swap(bad.triangles[i][0], bad.triangles[i][1]);     // Turned over.
  bad.triangles.erase(bad.triangles.begin() + 400);          // A hole.
  const int far = static_cast<int>(bad.vertices_mm.size());  // A crumb.
  for (const Vector3d& v : {Vector3d(80, 0, 5), Vector3d(81, 0, 5), Vector3d(80, 1, 5)})
    bad.vertices_mm.push_back(v);
  bad.triangles.emplace_back(far, far + 1, far + 2);
  const Repaired repaired = repairMesh(bad);
  CHECK(isWatertight(repaired.mesh));
  CHECK(repaired.mesh.vertices_mm.size() == whole.vertices_mm.size());
  CHECK(repaired.notes.size() == 6);
  for (const std::string& note : repaired.notes) CHECK(note.back() == '.');

  TriangleMesh inside_out = whole;
  for (auto& t : inside_out.triangles) std::swap(t[0], t[1]);
  CHECK(findDefects(inside_out).inside_out);
  CHECK_FALSE(findDefects(repairMesh(inside_out).mesh).inside_out);
}

TEST_CASE("Repair refuses heaps of triangles") {
  TriangleMesh heap;
  for (int i = 0; i < 200; ++i) {
    const int first = static_cast<int>(heap.vertices_mm.size());
    const Vector3d at(i % 10 * 10, i / 10 * 10, i % 7);
    for (const Vector3d& d : {Vector3d(0, 0, 0), Vector3d(5, 0, 0), Vector3d(0, 5, 1)})
      heap.vertices_mm.push_back(at + d);
    heap.triangles.emplace_back(first, first + 1, first + 2);
  }
  CHECK(complaint([&] { repairMesh(heap); }).find("heap of triangles") != std::string::npos);
  TriangleMesh flat;
  flat.vertices_mm = {{0, 0, 0}, {1, 0, 0}, {2, 0, 0}};
  flat.triangles = {{0, 1, 2}};
  CHECK(complaint([&] { repairMesh(flat); }).find("any area") != std::string::npos);
}

TEST_CASE("Units: what is no hold in millimetres is refused with the unit it would be one in") {
  const TriangleMesh mesh = edgeMesh();  // 118 mm across its corners.
  CHECK_FALSE(suspectedUnit(mesh));
  CHECK_NOTHROW(checkUnits(mesh, "a.stl"));
  CHECK(suspectedUnit(scaled(mesh, 1 / 25.4)) == LengthUnit::kInch);
  CHECK(suspectedUnit(scaled(mesh, 1e-3)) == LengthUnit::kMetre);
  CHECK(complaint([&] { checkUnits(scaled(mesh, 1 / 25.4), "a.stl"); }).find("--units in") !=
        std::string::npos);
  CHECK(complaint([&] { checkUnits(scaled(mesh, 1e-3), "a.stl"); }).find("--units m") !=
        std::string::npos);
  CHECK(complaint([&] { checkUnits(scaled(mesh, 1e6), "a.stl"); }) != "");
  CHECK(complaint([&] { checkUnits(scaled(mesh, 1e-6), "a.stl"); }) != "");
  CHECK(millimetresIn(unitFromName("in")) == 25.4);
  CHECK_THROWS_AS(unitFromName("ft"), BadInput);
}
