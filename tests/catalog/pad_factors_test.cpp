// SPDX-License-Identifier: Apache-2.0
#include "catalog/pad_factors.h"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>

#include "catalog/edge_capacity.h"

using namespace holdshelf;

namespace {

const GripThresholds kDefault;

EdgePlaceState flatEdge(double depth_mm, double incut_deg = 0) {
  EdgePlaceState at;
  at.profile = {depth_mm, 0, incut_deg};
  at.room_mm = std::numeric_limits<double>::infinity();
  at.friction = kDefault.skin_friction;
  return at;
}

PadFactors factors(const EdgePlaceState& at, Technique technique = Technique::OpenHand) {
  return withTechnique(commonFactors(at, handModel(), kDefault), technique, handModel(), kDefault);
}

}  // namespace

TEST_CASE(
    "pad factors: the value is contact, made up to the bar by wrap, less what friction takes") {
  PadFactors pad;
  pad.contact_share = 0.6;
  pad.bar = 0.9;
  pad.wrap = 0.5;
  pad.slope = 0.8;
  CHECK(pad.value() == doctest::Approx((0.6 + 0.3 * 0.5) * 0.8));
  pad.bar = 0.4;  // Hooking never takes from the contact.
  CHECK(pad.value() == doctest::Approx(0.6 * 0.8));
}

TEST_CASE("pad factors: each is what edge_capacity says of the contact") {
  const PadFactors pad = factors(flatEdge(20));
  CHECK(pad.contact.length_mm == doctest::Approx(20));
  CHECK(pad.contact_share == contactShare(Technique::OpenHand, 20, handModel(), kDefault));
  CHECK(pad.slope == doctest::Approx(1));  // Level and straight.
  const PadFactors crimped = factors(flatEdge(20), Technique::HalfCrimp);
  CHECK(crimped.contact_share == contactShare(Technique::HalfCrimp, 20, handModel(), kDefault));
}

TEST_CASE("pad factors: crimped fingers do not hook behind a lip, open ones do") {
  const EdgePlaceState incut = flatEdge(45, 40);
  CHECK(factors(incut).wrap > 0);
  CHECK(factors(incut, Technique::HalfCrimp).wrap == 0);
  CHECK(factors(incut, Technique::FullCrimp).wrap == 0);
}

TEST_CASE("pad factors: a wall past vertical tips an edge, and lets nobody off a bar") {
  EdgePlaceState edge = flatEdge(20), bar = flatEdge(60);
  bar.profile.radius_mm = 15;
  bar.is_bar = true;
  const double edge_before = factors(edge).value(), bar_before = factors(bar).value();
  edge.wall_angle_deg = bar.wall_angle_deg = 20;
  CHECK(factors(edge).value() < edge_before);
  CHECK(factors(bar).value() == bar_before);
  CHECK(factors(bar).contact.depth_mm == 60);
}

TEST_CASE("pad factors: askew of the pull, friction on a level edge leaves 1 - (askew / mu)^2") {
  for (const double askew : {0.0, 0.2, 0.4}) {
    CAPTURE(askew);
    EdgePlaceState at = flatEdge(20);
    at.askew = askew;
    CHECK(factors(at).slope ==
          doctest::Approx(1 - std::pow(askew / kDefault.skin_friction, 2)).epsilon(1e-9));
  }
  EdgePlaceState beyond = flatEdge(20);
  beyond.askew = 1.01 * kDefault.skin_friction;
  CHECK(factors(beyond).value() == 0);
}
