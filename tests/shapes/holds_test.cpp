// SPDX-License-Identifier: Apache-2.0
#include "tests/shapes/holds.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>
#include <stdexcept>

#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using Eigen::Vector3d;

namespace {

/// z of the highest point of the solid on the vertical line through (x, y), by bisection from
/// above.
double topAt(const Sdf& solid, double x, double y, double from_mm) {
  double z = from_mm;
  for (int i = 0; i < 2000 && solid(Vector3d(x, y, z)) > 1e-9; ++i)
    z -= std::max(solid(Vector3d(x, y, z)), 1e-9);
  return z;
}

}  // namespace

TEST_CASE("holds: every shape is one watertight solid on the wall plane, as high as it says") {
  for (const std::string& name : holdNames()) {
    CAPTURE(name);
    const ExactHold hold = holdNamed(name);
    CHECK(hold.name == name);
    const TriangleMesh mesh = meshSdf(hold.solid, hold.box_mm, 1);
    Eigen::AlignedBox3d box;
    for (const Vector3d& p : mesh.vertices_mm) box.extend(p);
    CHECK(std::abs(box.min().z()) < 1e-6);
    CHECK(std::abs(box.max().z() - hold.protrusion_mm) < 0.02);
    CHECK(hold.box_mm.contains(
        Eigen::AlignedBox3d(box.min().array() + 1e-6, box.max().array() - 1e-6)));
  }
}

TEST_CASE("edgeHold: depth, lip and incut are where the construction puts them") {
  for (double incut : {-6.0, 0.0, 20.0}) {
    CAPTURE(incut);
    EdgeSpec spec;
    spec.incut_deg = incut;
    const ExactHold hold = edgeHold(spec);
    const double slope = std::tan(incut * std::numbers::pi / 180);
    const double floor = spec.protrusion_mm - spec.depth_mm;
    const double root_y = spec.lip_y_mm - spec.depth_mm * slope;
    // The face over the lip and the floor behind the root.
    CHECK(topAt(hold.solid, 5, spec.lip_y_mm - 20, 60) == doctest::Approx(spec.protrusion_mm));
    CHECK(topAt(hold.solid, 5, spec.lip_y_mm + 8, 60) == doctest::Approx(floor));
    // A point of the grip face between the arcs, and the direction it faces.
    const double z = floor + spec.depth_mm / 2;
    const Vector3d p(5, root_y + spec.depth_mm / 2 * slope, z);
    CHECK(std::abs(hold.solid(p)) < 1e-9);
    const Vector3d n = hold.solid.gradient(p);
    CHECK(std::atan2(-n.z(), n.y()) * 180 / std::numbers::pi == doctest::Approx(incut));
    // Three points of the lip lie on one circle of the stated radius, tangent to the top.
    const double tangent = spec.lip_radius_mm / std::tan((90 - incut) / 2 * std::numbers::pi / 180);
    const Vector3d centre(5, spec.lip_y_mm - tangent, spec.protrusion_mm - spec.lip_radius_mm);
    for (double angle : {5.0, 40.0, 80.0}) {
      const double a = angle * std::numbers::pi / 180;
      const Vector3d on = centre + spec.lip_radius_mm * Vector3d(0, std::sin(a), std::cos(a));
      CHECK(std::abs(hold.solid(on)) < 1e-9);
    }
    CHECK(*hold.edge_width_mm == spec.width_mm - 2 * spec.end_blend_mm);
  }
}

TEST_CASE("withBolt: bore and seat") {
  const ExactHold flat = holdNamed("edge"), cone = holdNamed("chip");
  CHECK(std::abs(flat.solid(Vector3d(5.5, 0, 6))) < 1e-9);
  CHECK(topAt(flat.solid, 8, 0, 60) == doctest::Approx(12));
  CHECK(std::abs(cone.solid(Vector3d(2.5, 0, 3))) < 1e-9);
  CHECK(topAt(cone.solid, 4, 0, 60) == doctest::Approx(6 + 1.5));  // 45 degrees to the axis.
}

TEST_CASE("pocketHold, pinchHold: openings and faces") {
  const ExactHold pocket = holdNamed("pocket"), pinch = holdNamed("pinch");
  const double y = 13 + 16;
  CHECK(topAt(pocket.solid, 0, y, 90) == doctest::Approx(pocket.protrusion_mm - 30));
  CHECK(pocket.solid(Vector3d(0, y, 30)) == doctest::Approx(13));  // Half the opening's height.
  CHECK(std::abs(pocket.solid(Vector3d(22, y, 30))) < 1e-9);
  const double half = 23 + 30 * std::tan(8 * std::numbers::pi / 180);
  CHECK(std::abs(pinch.solid(Vector3d(half, 30, 28))) < 1e-9);
  CHECK(std::abs(pinch.solid(Vector3d(-half, 30, 28))) < 1e-9);
}

TEST_CASE("holdNamed: an unknown name lists the known ones") {
  CHECK_THROWS_WITH_AS(holdNamed("no such hold"), doctest::Contains("chip, dome, edge"),
                       std::invalid_argument);
}
