// SPDX-License-Identifier: Apache-2.0
#include "mesh/hold_frame.h"

#include <doctest/doctest.h>

#include <cmath>
#include <string>

#include "mesh/bad_input.h"
#include "mesh/repair.h"
#include "tests/complaint.h"
#include "tests/mesh/prepared_hold.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using namespace holdshelf::test;
using Eigen::Vector3d;

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
  CHECK(complaintOf([&] { findHoldFrame(ball); }).find("no flat back") != std::string::npos);
}
