// SPDX-License-Identifier: Apache-2.0
#include "catalog/edge_capacity.h"

#include <doctest/doctest.h>

#include <cmath>
#include <initializer_list>

using namespace holdshelf;

constexpr double kDeg = 3.14159265358979323846 / 180;
constexpr Technique kAll[] = {Technique::OpenHand, Technique::HalfCrimp, Technique::FullCrimp};
static const GripThresholds kDefault;

TEST_CASE("contactShare: force never falls with depth between 10 and 40 mm, for each technique") {
  // Amca, Vigouroux, Aritan, Berton, J Sports Sci 2012;30(7):669-677: force rises with hold depth;
  // the form of the rise differs by technique.
  for (Technique technique : kAll) {
    CAPTURE(nameOf(technique));
    double before = 0;
    for (double depth_mm = 10; depth_mm <= 40; depth_mm += 0.5) {
      const double share = contactShare(technique, depth_mm, handModel(), kDefault);
      CHECK(share >= before);
      before = share;
    }
  }
  const auto rise = [](Technique technique) {
    return contactShare(technique, 40, handModel(), kDefault) /
           contactShare(technique, 10, handModel(), kDefault);
  };
  CHECK(rise(Technique::OpenHand) > rise(Technique::HalfCrimp));
  CHECK(rise(Technique::HalfCrimp) > rise(Technique::FullCrimp));
}

TEST_CASE("contactShare: between 10 and 40 mm every force lies in the published 350.8 to 575.7 N") {
  // Extremes of the 4 by 3 table of the same study, advanced climbers; only these are published.
  for (People people : {People::Women, People::Midway, People::Men})
    for (Technique technique : kAll)
      for (double depth_mm : {10.0, 15.0, 20.0, 30.0, 40.0}) {
        CAPTURE(nameOf(technique));
        CAPTURE(depth_mm);
        const double newton =
            kDefault.jug_newton * contactShare(technique, depth_mm, handModel(people), kDefault);
        CHECK(newton >= 350.8);
        CHECK(newton <= 575.7);
      }
}

TEST_CASE("contactShare: no crimp is ranked above the open hand at 23 mm") {
  // Current Issues in Sport Science 2025;10, doi 10.36950/2025.10ciss005: on a 23 mm rung the open
  // hand is slightly stronger than the half crimp.
  const double open = contactShare(Technique::OpenHand, 23, handModel(), kDefault);
  const double half = contactShare(Technique::HalfCrimp, 23, handModel(), kDefault);
  CHECK(open >= contactShare(Technique::FullCrimp, 23, handModel(), kDefault));
  CHECK(open > half);
  CHECK(open < 1.1 * half);  // "Slightly"; 9.8 % is what climbers wrongly credit the crimp with.
}

TEST_CASE("contactShare: the rise is not the line of 2.5 % a millimetre that circulates") {
  // That rule is not in the abstract it is ascribed to, which fits a polynomial per technique.
  const auto gain = [](double from_mm) {
    return contactShare(Technique::OpenHand, from_mm + 5, handModel(), kDefault) -
           contactShare(Technique::OpenHand, from_mm, handModel(), kDefault);
  };
  CHECK(gain(10) > 2 * gain(20));  // It flattens where 20 to 25 mm carry the whole phalanx.
  CHECK(gain(20) > 2 * gain(30));
}

TEST_CASE("contactShare: nothing on nothing; longer phalanges need longer edges") {
  CHECK(contactShare(Technique::OpenHand, 0, handModel(), kDefault) == 0);
  CHECK(contactShare(Technique::OpenHand, -3, handModel(), kDefault) == 0);
  CHECK(contactShare(Technique::OpenHand, 10, handModel(People::Women), kDefault) >
        contactShare(Technique::OpenHand, 10, handModel(People::Men), kDefault));
}

TEST_CASE("slopeShare: a face that slopes 36 degrees needs a friction of 0.7265") {
  // tan 36; chalked sandstone 0.90 holds it, dry limestone 0.64 does not (Amca et al., Sports
  // Biomech 2012;11(4):473-479; absolute figures from a secondary report).
  CHECK(slopeShare(36, 0, 0.90) > 0);
  CHECK(slopeShare(36, 0, 0.64) == 0);
  CHECK(slopeShare(36, 0, 0.7264) == 0);
  CHECK(slopeShare(36, 0, 0.7266) > 0);
}

TEST_CASE("slopeShare: slip angles of the published frictions") {
  // atan of Teflon 0.53, limestone 0.64, sandstone 0.74, chalked 0.76 and 0.90, rubber 0.84, shoe
  // rubber on hold plastic 1.14.
  struct Pair {
    double friction, slip_deg;
  };
  for (const Pair& pair : {Pair{0.53, 27.9}, Pair{0.64, 32.6}, Pair{0.74, 36.5}, Pair{0.76, 37.2},
                           Pair{0.84, 40.0}, Pair{0.90, 42.0}, Pair{1.14, 48.7}}) {
    CAPTURE(pair.friction);
    CHECK(slopeShare(pair.slip_deg - 0.1, 0, pair.friction) > 0);
    CHECK(slopeShare(pair.slip_deg + 0.1, 0, pair.friction) == 0);
  }
}

TEST_CASE("slopeShare: the default skin lies in the working band and behaves as the limits say") {
  // Band 0.5 to 0.9 for skin on textured holds; steeper than 42 degrees no skin holds; pulling
  // turns to pushing at 34 degrees for the more, at 22 for the less experienced (Fuss, Weizman,
  // Burr, Niegl, Sports Technology 2013;6(3):122-129).
  CHECK(kDefault.skin_friction >= 0.5);
  CHECK(kDefault.skin_friction <= 0.9);
  CHECK(slopeShare(42.1, 0, kDefault.skin_friction) == 0);
  CHECK(slopeShare(22, 0, kDefault.skin_friction) > 0.5);
  CHECK(slopeShare(34, 0, kDefault.skin_friction) > 0);
  CHECK(slopeShare(34, 0, kDefault.skin_friction) < 0.35);
  CHECK(slopeShare(34, 0, kDefault.skin_friction - kDefault.skin_friction_sigma) < 0.1);
  // Shoe rubber on hold plastic: 0.7 to 1.15.
  CHECK(kDefault.rubber_friction >= 0.7);
  CHECK(kDefault.rubber_friction <= 1.15);
}

TEST_CASE("slopeShare: incut only slips sideways, and a lip askew counts as a slope does") {
  CHECK(slopeShare(-30, 0, 0.8) == 1);
  CHECK(slopeShare(0, std::tan(20 * kDeg), 0.8) == doctest::Approx(slopeShare(20, 0, 0.8)));
  CHECK(slopeShare(-30, 0.81, 0.8) == 0);
}

TEST_CASE("barShare: thin bars beat a thick one by the published share") {
  // Young, Woolley, Ashton-Miller, Armstrong, Human Factors 2012;54(3):316-333: 51 mm against
  // 22 to 32 mm, 8 to 13 % weaker, horizontal handholds.
  const double thick = barShare(51, handModel(), kDefault);
  for (double thin_mm : {22.0, 25.0, 32.0}) {
    CAPTURE(thin_mm);
    const double thin = barShare(thin_mm, handModel(), kDefault);
    CHECK(thin > thick);
    CHECK(1 - thick / thin >= 0.08);
    CHECK(1 - thick / thin <= 0.13);
  }
  CHECK(barShare(51, handModel(People::Women), kDefault) < thick);  // Smaller hands lose more.
}

TEST_CASE("wrapShare: needs incut, contact and room for the hand") {
  const HandModel hand = handModel();
  CHECK(wrapShare(25, 45, 1e9, hand, kDefault) == 1);
  CHECK(wrapShare(-10, 45, 1e9, hand, kDefault) == 0);
  CHECK(wrapShare(25, 15, 1e9, hand, kDefault) == 0);
  CHECK(wrapShare(25, 45, 35, hand, kDefault) == 1);  // DGUV 201-015: 35 mm for the hand.
  CHECK(wrapShare(25, 45, 16, hand, kDefault) == 0);
}
