// SPDX-License-Identifier: Apache-2.0
#include "tests/shapes/sdf.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>
#include <stdexcept>
#include <string>
#include <vector>

#include "tests/shapes/profile.h"

using namespace holdshelf;
using Eigen::Vector3d;

namespace {

struct Named {
  std::string name;
  Sdf solid;
  bool true_distance;  ///< Everywhere, not only near the surface.
};

std::vector<Named> solids() {
  const Profile lip(
      {{{-20, 0}}, {{20, 0}}, {{18, 10}, 2}, {{4, 11}, 1.5}, {{8, 30}, 3}, {{-12, 30}, 5}});
  return {{"sphere", sphere(20), true},
          {"box", box({10, 20, 15}), true},
          {"rounded box", roundedBox({10, 20, 15}, 4), true},
          {"cylinder", cylinder(12, 18), true},
          {"cone", cone(20, 8, 12), true},
          {"capsule", capsule({-5, 0, 3}, {12, 9, 8}, 7), true},
          {"torus", torus(20, 6), true},
          {"half-space", halfSpace({1, 2, -1}, 4), true},
          {"extruded profile", extrude(lip, 25), true},
          {"turned profile", revolve(lip), true},
          {"turned and moved", translate(rotate(torus(20, 6), 35, {1, 1, 0}), {3, 2, 1}), true},
          {"mirrored", mirrorX(capsule({-5, 0, 3}, {12, 9, 8}, 7)), true},
          {"blended union", unite(sphere(15), translate(box({8, 8, 20}), {10, 0, 0}), 6), false},
          {"blended cut", subtract(box({20, 20, 10}), translate(sphere(12), {0, 0, 10}), 4), false},
          {"blended cap", intersect(sphere(20), halfSpace({0, 0, 1}, 8), 5), false}};
}

Vector3d randomPoint(std::mt19937& random, double half) {
  std::uniform_real_distribution<double> u(-half, half);
  const double x = u(random), y = u(random);
  return {x, y, u(random)};
}

}  // namespace

TEST_CASE("Sdf: true distances have unit gradients, bounds never more") {
  for (const Named& s : solids()) {
    CAPTURE(s.name);
    std::mt19937 random(1);
    int kinks = 0;
    for (int i = 0; i < 2000; ++i) {
      const Vector3d p = randomPoint(random, 40);
      const double g = s.solid.gradient(p).norm();
      CHECK(g < 1 + 1e-6);
      // A central difference across a medial axis comes out short; random points seldom hit one.
      if (s.true_distance && std::abs(g - 1) > 1e-6) ++kinks;
    }
    CHECK(kinks < 10);
  }
}

TEST_CASE("Sdf: no value exceeds the distance to any point of the surface") {
  for (const Named& s : solids()) {
    CAPTURE(s.name);
    std::mt19937 random(2);
    std::vector<Vector3d> surface;
    for (int i = 0; i < 400; ++i) {
      const Vector3d p = s.solid.project(randomPoint(random, 30));
      if (std::abs(s.solid(p)) < 1e-8) surface.push_back(p);
    }
    REQUIRE(surface.size() > 300);
    for (int i = 0; i < 200; ++i) {
      const Vector3d p = randomPoint(random, 40);
      double nearest = INFINITY;
      for (const Vector3d& q : surface) nearest = std::min(nearest, (p - q).norm());
      CHECK(std::abs(s.solid(p)) < nearest + 1e-7);
    }
  }
}

TEST_CASE("Sdf: known distances") {
  CHECK(box({1, 2, 3})(Vector3d(4, 6, 3)) == doctest::Approx(5));  // 3-4-5 from the edge.
  CHECK(box({1, 2, 3})(Vector3d(0.5, 0, 0)) == doctest::Approx(-0.5));
  CHECK(roundedBox({5, 5, 5}, 2)(Vector3d(3 + 3, 3 + 4, 0)) == doctest::Approx(5 - 2));
  CHECK(torus(50, 15)(Vector3d(0, 50, 20)) == doctest::Approx(5));
  CHECK(cone(20, 8, 12)(Vector3d(14 + 1.2, 0, 0.6)) ==
        doctest::Approx((1.2 * 2 + 0.6) / std::sqrt(5.0)));  // Side r = 14 - z / 2.
  CHECK(cylinder(3, 7)(Vector3d(0, 6, 11)) == doctest::Approx(5));
  CHECK(ellipsoid({10, 20, 30})(Vector3d(0, 0, 30.01)) == doctest::Approx(0.01).epsilon(1e-3));
}

TEST_CASE("Sdf: combinations keep the exact solid away from the blend") {
  const Sdf a = sphere(10), b = translate(sphere(10), {12, 0, 0});
  const Sdf both = unite(a, b, 3);
  CHECK(std::abs(both(Vector3d(-10, 0, 0))) < 1e-12);
  CHECK(both(Vector3d(6, 8, 0)) == doctest::Approx(-0.75));  // On the seam: blend / 4.
  CHECK(subtract(a, b)(Vector3d(6, 0, 0)) > 0);
  CHECK(intersect(a, b)(Vector3d(6, 0, 0)) < 0);
  CHECK(std::abs(offset(a, 2)(Vector3d(0, 12, 0))) < 1e-12);
}

TEST_CASE("bumps: bounded, the same for the same seed, and quiet where asked") {
  const Sdf flat = halfSpace({0, 0, 1}, 0);
  const Sdf a = bumps(flat, 1.5, 30, 7), again = bumps(flat, 1.5, 30, 7),
            b = bumps(flat, 1.5, 30, 8);
  const Sdf quiet = bumpsOutside(flat, 1.5, 30, 7, cylinder(10, 100), 5);
  std::mt19937 random(3);
  double largest = 0, difference = 0;
  for (int i = 0; i < 2000; ++i) {
    const Vector3d p = randomPoint(random, 40);
    largest = std::max(largest, std::abs(a(p) - flat(p)));
    difference = std::max(difference, std::abs(a(p) - b(p)));
    CHECK(a(p) == again(p));
    if (p.head<2>().norm() < 10) CHECK(quiet(p) == flat(p));
    if (p.head<2>().norm() > 15) CHECK(quiet(p) == a(p));
  }
  CHECK(largest <= 1.5);
  CHECK(largest > 0.7);
  CHECK(difference > 0.7);
  CHECK_THROWS_AS(bumps(flat, 3, 30, 7), std::invalid_argument);
}
