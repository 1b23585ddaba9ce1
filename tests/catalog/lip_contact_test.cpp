// SPDX-License-Identifier: Apache-2.0
#include "catalog/lip_contact.h"

#include <doctest/doctest.h>

#include <cmath>
#include <initializer_list>

using namespace holdshelf;

constexpr double kPi = 3.14159265358979323846;
constexpr double kLong = 1000;  // No limb ends here.

TEST_CASE("contactOf: a sharp edge bears over its whole depth, along the surface") {
  // An edge 23 mm deep, incut 25 degrees (hold of Bioengineering 2024;11(4):370): 23/cos 25 =
  // 25.378 mm along the surface, if 23 is perpendicular to the wall.
  const LipContact contact = contactOf({23, 0, 25}, 0, 45, kLong);
  CHECK(std::abs(contact.depth_mm - 23) < 1e-9);
  CHECK(std::abs(contact.length_mm - 25.378) < 0.001);
  CHECK(std::abs(contact.length_mm * std::sin(-contact.slope_deg * kPi / 180) - 10.725) < 0.001);
  CHECK(std::abs(contact.incut_deg - 25) < 1e-9);
}

TEST_CASE("contactOf: a fillet loses 0.2929 r of depth to its 45 degree point") {
  for (double radius_mm : {2.0, 10.0, 18.0}) {  // r (1 - sin 45); 2.93 mm for 10.
    CAPTURE(radius_mm);
    const LipContact contact = contactOf({23, radius_mm, 0}, 0, 45, kLong);
    CHECK(std::abs(23 - contact.depth_mm - 0.29289321881 * radius_mm) < 1e-8);
  }
}

TEST_CASE("contactOf: a cylinder of 80 mm slopes 34 degrees at 45 mm and 22 at 30 mm") {
  // Fuss, Weizman, Burr, Niegl, Sports Technology 2013;6(3):122-129 publish the pairs; the radius
  // that explains both is inferred. The contact's end is where the slope is reached.
  CHECK(std::abs(contactOf({80, 80, 0}, 0, 34.23, kLong).depth_mm - 45) < 0.01);
  CHECK(std::abs(contactOf({80, 80, 0}, 0, 22.02, kLong).depth_mm - 30) < 0.01);
  CHECK(std::abs(contactOf({80, 80, 0}, 0, 34, kLong).depth_mm - 45) < 0.5);
}

TEST_CASE("contactOf: the wall's tilt comes off the incut") {
  for (double tilt_deg : {-20.0, 0.0, 15.0, 40.0}) {
    CAPTURE(tilt_deg);
    const LipContact contact = contactOf({30, 0, 10}, tilt_deg, 45, kLong);
    CHECK(std::abs(contact.incut_deg - (10 - tilt_deg)) < 1e-9);
    CHECK(std::abs(contact.slope_deg - (tilt_deg - 10)) < 1e-9);
    // A tilt is rigid: lengths stay.
    CHECK(std::abs(contact.length_mm - 30 / std::cos(10 * kPi / 180)) < 1e-9);
  }
}

TEST_CASE("contactOf: a tilted fillet ends where gravity, not the wall, says 45 degrees") {
  // On a 30 degree overhang that is the fillet's 15 degree point: r (1 - sin 15) is lost.
  const LipContact contact = contactOf({20, 8, 0}, 30, 45, kLong);
  CHECK(std::abs(20 - contact.depth_mm - 8 * (1 - std::sin(15 * kPi / 180))) < 1e-9);
}

TEST_CASE("contactOf: what does not bear") {
  CHECK(contactOf({20, 2, 0}, 46, 45, kLong).length_mm == 0);   // Flat edge in a steep roof.
  CHECK(contactOf({20, 2, -50}, 0, 45, kLong).length_mm == 0);  // Slopes by 50.
  CHECK(contactOf({0, 2, 0}, 0, 45, kLong).length_mm == 0);
  CHECK(contactOf({20, 2, -50}, -10, 45, kLong).length_mm > 0);  // On a slab it does.
}

TEST_CASE("contactOf: a limb bears no longer than it is") {
  CHECK(std::abs(contactOf({120, 0, 0}, 0, 45, 80).length_mm - 80) < 1e-9);
  // On a rounding the inner, flatter part is used: an arc of 80 mm on a radius of 200.
  const LipContact contact = contactOf({200, 200, 0}, 0, 45, 80);
  CHECK(std::abs(contact.slope_deg - 80.0 / 200 / 2 * 180 / kPi) < 1e-6);  // Chord: half the arc.
}

TEST_CASE("profileOf: a rounding that is all arc begins at the arc's own slope") {
  // A sphere's cap of radius 13, 11 high: at the wall it slopes by asin(2/13) = 8.85 degrees; a
  // line through its inner part slopes by much more.
  Grip grip;
  grip.mutable_edge_depth_mm()->set_value(11);
  grip.mutable_lip_radius_mm()->set_value(13);
  grip.mutable_edge_along_mm()->set_value(13 * std::acos(2.0 / 13));
  grip.set_lip_sweep_deg(90 - 8.85);
  grip.mutable_incut_deg()->set_value(-37);
  CHECK(std::abs(profileOf(grip).incut_deg + 8.85) < 1e-9);
  // With a straight face behind the arc the face's own angle counts.
  grip.mutable_lip_radius_mm()->set_value(2);
  grip.mutable_edge_along_mm()->set_value(14);
  CHECK(profileOf(grip).incut_deg == -37);
}

TEST_CASE("profileOf: a fitted depth that holds over no width gives way to the lip as followed") {
  Grip grip;
  grip.mutable_edge_depth_mm()->set_value(19);  // On a chip of 8 mm.
  for (double offset_mm : {-12.0, -4.0, 4.0, 12.0}) {
    grip.add_run()->set_offset_mm(offset_mm);
    grip.mutable_run(grip.run_size() - 1)->set_depth_mm(6);
  }
  CHECK(profileOf(grip).depth_mm == 6);
  CHECK(bearingWidth_mm(grip) == 24);
  grip.mutable_edge_width_mm()->set_value(24);
  CHECK(profileOf(grip).depth_mm == 19);
}
