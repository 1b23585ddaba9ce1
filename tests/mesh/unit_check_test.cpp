// SPDX-License-Identifier: Apache-2.0
#include "mesh/unit_check.h"

#include <doctest/doctest.h>

#include <string>

#include "mesh/bad_input.h"
#include "tests/complaint.h"
#include "tests/mesh/prepared_hold.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using namespace holdshelf::test;
using Eigen::Vector3d;

namespace {

TriangleMesh scaled(TriangleMesh mesh, double factor) {
  for (Vector3d& v : mesh.vertices_mm) v *= factor;
  return mesh;
}

}  // namespace

TEST_CASE("Units: what is no hold in millimetres is refused with the unit it would be one in") {
  const TriangleMesh mesh = edgeMesh();  // 118 mm across its corners.
  CHECK_FALSE(suspectedUnit(mesh));
  CHECK_NOTHROW(checkUnits(mesh, "a.stl"));
  CHECK(suspectedUnit(scaled(mesh, 1 / 25.4)) == LengthUnit::kInch);
  CHECK(suspectedUnit(scaled(mesh, 1e-3)) == LengthUnit::kMetre);
  CHECK(complaintOf([&] { checkUnits(scaled(mesh, 1 / 25.4), "a.stl"); }).find("--units in") !=
        std::string::npos);
  CHECK(complaintOf([&] { checkUnits(scaled(mesh, 1e-3), "a.stl"); }).find("--units m") !=
        std::string::npos);
  CHECK(complaintOf([&] { checkUnits(scaled(mesh, 1e6), "a.stl"); }) != "");
  CHECK(complaintOf([&] { checkUnits(scaled(mesh, 1e-6), "a.stl"); }) != "");
  CHECK(millimetresIn(unitFromName("in")) == 25.4);
  CHECK_THROWS_AS(unitFromName("ft"), BadInput);
}
