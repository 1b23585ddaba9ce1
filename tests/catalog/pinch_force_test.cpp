// SPDX-License-Identifier: Apache-2.0
#include "catalog/pinch_force.h"

#include <doctest/doctest.h>

#include <cmath>
#include <initializer_list>

using namespace holdshelf;

constexpr double kDeg = 3.14159265358979323846 / 180;
static const GripThresholds kDefault;
static const HandModel kHand = handModel();

static double fraction(const PinchFaces& faces, double wall_angle_deg = 0, double friction = 0.8,
                       double closing_deg = 90) {
  return pinchForce(faces, closing_deg, wall_angle_deg, friction, kHand, kDefault).fraction;
}

TEST_CASE("pinchForce: parallel faces on a vertical wall carry 2 mu N") {
  const PinchHold hold = pinchForce({60, 0, 40, 90}, 90, 0, 0.7, kHand, kDefault);
  CHECK(hold.fraction == doctest::Approx(2 * 0.7 * hold.squeeze_n / kDefault.jug_newton));
  CHECK(hold.fingers == 4);
}

TEST_CASE("pinchForce: the three equations hold at the load found") {
  for (double taper_deg : {-10.0, 0.0, 15.0, 40.0})
    for (double wall_angle_deg : {-15.0, 0.0, 30.0}) {
      CAPTURE(taper_deg);
      CAPTURE(wall_angle_deg);
      const double mu = 0.8;
      const PinchHold hold =
          pinchForce({60, taper_deg, 40, 90}, 90, wall_angle_deg, mu, kHand, kDefault);
      const double load = hold.fraction * kDefault.jug_newton, n = hold.squeeze_n;
      const double half = taper_deg / 2 * kDeg, tilt = wall_angle_deg * kDeg;
      const double t1 = load * std::cos(tilt) / 2;
      const double t2 = (load * std::sin(tilt) + 2 * n * std::sin(half)) / (2 * std::cos(half));
      CHECK(std::hypot(t1, std::max(0.0, t2)) == doctest::Approx(mu * n).epsilon(1e-6));
    }
}

TEST_CASE("pinchForce: tapered faces slip, steeper walls hold less, dovetails do not slip off") {
  CHECK(fraction({60, 20, 40, 90}) < fraction({60, 0, 40, 90}));
  CHECK(fraction({60, 80, 40, 90}) == 0);  // tan 40 exceeds the friction.
  CHECK(fraction({60, 10, 40, 90}, 40) < fraction({60, 10, 40, 90}, 0));
  CHECK(fraction({60, -30, 40, 90}, 40) >= fraction({60, 0, 40, 90}, 40));
}

TEST_CASE("pinchForce: baseline squeezes of thumb and fingers") {
  // Stegink Jansen et al., J Hand Ther 2003;16:326-336, men: tip 68.8 N, three-jaw 91.9 N.
  const double finger = kHand.finger_breadth_mm[0] * kDefault.finger_packing;
  const auto squeeze = [&](int fingers) {
    return pinchForce({60, 0, 400, fingers * finger}, 90, 0, 0.8, kHand, kDefault).squeeze_n;
  };
  CHECK(std::abs(squeeze(1) - 68.8) < 1);
  CHECK(std::abs(squeeze(2) - 91.9) < 1);
  CHECK(squeeze(4) > squeeze(3));
}

TEST_CASE("pinchWidthShare: wider is stronger up to about 50 mm by the published 40 %") {
  // Shivers, Mirka, Kaber, Human Factors 2002;44(4):569-577: +40 % from the smallest to the largest
  // functional span, rising all the way (lateral pinch).
  double before = 0;
  for (double width_mm = 1; width_mm <= 50; ++width_mm) {
    const double share = pinchWidthShare(width_mm, kHand, kDefault);
    CHECK(share > before);
    before = share;
  }
  CHECK(pinchWidthShare(50, kHand, kDefault) / pinchWidthShare(1e-6, kHand, kDefault) ==
        doctest::Approx(1.4).epsilon(0.01));
  // Widths used as validated tests (Soderqvist et al., IJSPP 2024;19(3):290-298): 45 x 90 mm and
  // 90 x 90 mm blocks are both pinched.
  CHECK(fraction({45, 0, 90, 90}) > 0.2);
  CHECK(fraction({90, 0, 90, 90}) > 0.15);
  // Beyond the span of thumb and fingers there is no pinch.
  CHECK(pinchWidthShare(kHand.pinch_span_mm + 1, kHand, kDefault) == 0);
}

TEST_CASE("pinchForce: a piece for thumb and one finger holds little; common practice, no source") {
  const double one = fraction({25, 10, 12, 14});
  CHECK(one > 0.03);
  CHECK(one < 0.2);
  CHECK(one < 0.5 * fraction({60, 0, 40, 90}));
}

TEST_CASE("pinchForce: pulled towards the closing fingers it is no pinch") {
  CHECK(fraction({60, 0, 40, 90}, 0, 0.8, 30) == 0);
  CHECK(fraction({60, 0, 40, 90}, 0, 0.8, 70) ==
        doctest::Approx(fraction({60, 0, 40, 90}) * std::sin(70 * kDeg)));
}

TEST_CASE("pinchForce: a vertical bar holds less than the same bar laid horizontally") {
  // Young, Woolley, Ashton-Miller, Armstrong, Human Factors 2012;54(3):316-333: from vertical to
  // horizontal +75 to +94 %. The horizontal bar is the large jug, 1; how much less is not asserted,
  // a fist's grip being more than a pinch.
  for (double diameter_mm : {22.0, 32.0, 51.0}) {
    CAPTURE(diameter_mm);
    CHECK(1.75 * fraction({diameter_mm, 0, diameter_mm, 110}) < 1);
  }
}
