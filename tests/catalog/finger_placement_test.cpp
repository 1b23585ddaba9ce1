// SPDX-License-Identifier: Apache-2.0
#include "catalog/finger_placement.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <vector>

using namespace holdshelf;

constexpr std::array<double, 4> kRoom{16, 16, 15, 13};
constexpr std::array<double, 4> kShare{0.25, 0.30, 0.25, 0.20};

/// An edge of the same value from -w/2 to w/2.
static std::vector<PlaceValue> level(double width_mm, double value = 1) {
  return {{-width_mm / 2, value}, {width_mm / 2, value}};
}

TEST_CASE("placeFingers: a wide level edge takes the whole hand") {
  const FingerPlacement placed = placeFingers(level(100, 0.7), kRoom, kShare);
  CHECK(placed.share == doctest::Approx(0.7));
  CHECK(placed.fingers == 4);
  CHECK(placed.cover == doctest::Approx(1));
  CHECK(placed.load_share == doctest::Approx(1));
}

TEST_CASE("placeFingers: fewer fingers on less width, the strongest ones first") {
  // 32 mm hold exactly two of 16 mm: index and middle, 0.55, beat middle and ring beside them.
  CHECK(placeFingers(level(32), kRoom, kShare).fingers == 2);
  CHECK(std::abs(placeFingers(level(32), kRoom, kShare).share - 0.55) < 0.03);
  CHECK(placeFingers(level(47), kRoom, kShare).fingers == 3);
  CHECK(std::abs(placeFingers(level(16), kRoom, kShare).share - 0.30) < 0.02);  // The middle one.
  double before = 0;
  for (double width_mm = 4; width_mm < 90; width_mm += 3) {
    const double share = placeFingers(level(width_mm), kRoom, kShare).share;
    CHECK(share >= before - 1e-9);
    before = share;
  }
}

TEST_CASE("placeFingers: the hand goes where the lip is deep") {
  // Shallow on the left, deep on the right, as on a chipped edge.
  const FingerPlacement placed = placeFingers(
      std::vector<PlaceValue>{{-80, 0.2}, {-1, 0.2}, {1, 0.9}, {80, 0.9}}, kRoom, kShare);
  CHECK(placed.start_mm >= 0);
  CHECK(placed.share == doctest::Approx(0.9).epsilon(0.01));
}

TEST_CASE("placeFingers: the closed integral agrees with summing thin slices") {
  // Oracle: the value under each finger by 1000 slices, at the best start found.
  const std::vector<PlaceValue> places{{-30, 0.1}, {-12, 0.8}, {3, 0.5}, {20, 0.9}, {33, 0.0}};
  const auto value = [&](double x) {
    if (x < -30 || x > 33) return 0.0;
    std::size_t i = 1;
    while (i + 1 < places.size() && places[i].offset_mm < x) ++i;
    const auto &a = places[i - 1], &b = places[i];
    return a.value + (b.value - a.value) * (x - a.offset_mm) / (b.offset_mm - a.offset_mm);
  };
  const FingerPlacement placed = placeFingers(places, kRoom, kShare);
  double forth = 0, back = 0;
  for (bool reversed : {false, true}) {
    double x = placed.start_mm, sum = 0;
    for (std::size_t f = 0; f < 4; ++f) {
      const std::size_t finger = reversed ? 3 - f : f;
      for (int i = 0; i < 1000; ++i)
        sum += kShare[finger] * value(x + kRoom[finger] * (i + 0.5) / 1000) / 1000;
      x += kRoom[finger];
    }
    (reversed ? back : forth) = sum;
  }
  CHECK(std::abs(std::max(forth, back) - placed.share) < 1e-4);
}

TEST_CASE("placeFingers: ends after some thousand stands, wherever the places lie") {
  CHECK(placeFingers(level(4e9, 0.5), kRoom, kShare).share == doctest::Approx(0.5));
  CHECK(placeFingers(level(1e300, 0.5), kRoom, kShare).share <= 0.5);
  const double none = std::nan(""), endless = INFINITY;
  for (const auto& places : {std::vector<PlaceValue>{{none, 1}, {5, 1}},
                             {{0, 1}, {none, 1}},
                             {{-endless, 1}, {0, 1}},
                             {{0, 1}, {endless, 1}},
                             {{-1.7e308, 1}, {1.7e308, 1}},
                             {{100, 1}, {-100, 1}}})
    CHECK(placeFingers(places, kRoom, kShare).share == 0);
  // Between ends that are right anything may lie: it has to end, and to stay inside.
  for (const double between : {none, endless, -endless, 1e300, -1e300, -1000.0, 1000.0})
    (void)placeFingers(std::vector<PlaceValue>{{-30, 1}, {between, 0.5}, {7, none}, {40, 1}}, kRoom,
                       kShare);
}
