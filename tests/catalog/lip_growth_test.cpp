// SPDX-License-Identifier: Apache-2.0
#include "catalog/lip_growth.h"

#include <doctest/doctest.h>

#include <cmath>
#include <utility>
#include <vector>

using namespace holdshelf;

namespace {

/// Lips that all lie at the origin and turn too little for the loss along them to say a radius: the
/// fitted radii are compared.
Shape shapeWith(const std::vector<double>& rotations_deg, double radius_mm, double lip_z_mm = 0) {
  Shape shape;
  for (const double rotation_deg : rotations_deg) {
    Grip& grip = *shape.add_grips();
    grip.set_rotation_deg(rotation_deg);
    grip.set_lip_z_mm(lip_z_mm);
    grip.mutable_lip_radius_mm()->set_value(radius_mm);
    grip.mutable_lip_radius_mm()->set_sigma(0.03);
    grip.mutable_edge_depth_mm()->set_value(20 - radius_mm);
    grip.mutable_incut_deg()->set_value(10);
  }
  return shape;
}

/// One vertex at the origin, of which so much is gone.
Wear compared(const Shape& before, const Shape& now, double gone_mm) {
  TriangleMesh mesh;
  mesh.vertices_mm = {Eigen::Vector3d::Zero()};
  Deviation deviation;
  deviation.signed_mm = {static_cast<float>(-gone_mm)};
  deviation.limit_mm = 0.1;
  Wear wear;
  addLipGrowth(mesh, deviation, before, now, 3, wear);
  return wear;
}

}  // namespace

TEST_CASE("addLipGrowth: differences of the same lips, with both scans' uncertainties") {
  const Wear wear = compared(shapeWith({0, 90}, 4), shapeWith({0, 180}, 6), 0.3);
  REQUIRE(wear.lips_size() == 1);  // At the others only one scan has a lip.
  const LipChange& lip = wear.lips(0);
  CHECK(lip.rotation_deg() == 0);
  CHECK(lip.radius_growth_mm().value() == doctest::Approx(2));
  CHECK(lip.radius_growth_mm().sigma() == doctest::Approx(0.03 * std::sqrt(2.0)));
  CHECK(lip.fitted_growth_mm().value() == lip.radius_growth_mm().value());
  CHECK(lip.depth_change_mm().value() == doctest::Approx(-2));
  CHECK(lip.incut_change_deg().value() == 0);
  CHECK(compared(shapeWith({0}, 4), shapeWith({0}, 6, 3.9), 0.3).lips_size() == 1);
  CHECK(compared(shapeWith({0}, 4), shapeWith({0}, 6, 4.1), 0.3).lips().empty());  // Another lip.
  Shape sharp = shapeWith({0}, 4);
  sharp.mutable_grips(0)->clear_lip_radius_mm();
  CHECK(compared(sharp, shapeWith({0}, 6), 0.3).lips().empty());
}

TEST_CASE("addLipGrowth: sure only with a neighbour, through zero, and where material is gone") {
  const std::vector<double> turns = {0, 90, 95, 180, 355};
  const Wear wear = compared(shapeWith(turns, 4), shapeWith(turns, 4.5), 0.3);
  REQUIRE(wear.lips_size() == 5);
  for (const LipChange& lip : wear.lips()) {
    CAPTURE(lip.rotation_deg());
    CHECK(lip.sure() == (lip.rotation_deg() != 180));  // The only one without a neighbour.
  }
  // A growth of 0.5 mm takes 0.05 mm of the surface, and the deviation sees 0.1 mm and more.
  for (const auto& [radius_mm, gone_mm] : {std::pair{4.5, 0.0},
                                           {4.5, 0.09},     // Below the detection limit.
                                           {4.1, 0.3},      // 0.1 mm is 2.4 standard uncertainties.
                                           {6.0, 0.19}}) {  // A tenth of 2 mm is 0.2.
    CAPTURE(gone_mm);
    const Wear unsure = compared(shapeWith(turns, 4), shapeWith(turns, radius_mm), gone_mm);
    REQUIRE(unsure.lips_size() == 5);
    for (const LipChange& lip : unsure.lips()) CHECK_FALSE(lip.sure());
  }
}
