// SPDX-License-Identifier: Apache-2.0
#include "mesh/circle_fit.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>
#include <vector>

using namespace holdshelf;
using Points = std::vector<Eigen::Vector2d>;

TEST_CASE("fitCircle: the published example of orthogonal fitting") {
  // Gander, Golub, Strebel, BIT 34, 1994: six points whose algebraic circles (radii 3.0370 and, by
  // Kasa, 4.1088) differ from the geometric one. Values recomputed to all digits.
  const Points points = {{1, 7}, {2, 6}, {5, 8}, {7, 7}, {9, 5}, {3, 7}};
  const auto fit = fitCircle(points);
  REQUIRE(fit);
  CHECK(std::abs(fit->centre_mm.x() - 4.7397824109) < 1e-9);
  CHECK(std::abs(fit->centre_mm.y() - 2.9835326993) < 1e-9);
  CHECK(std::abs(fit->radius_mm - 4.7142260378) < 1e-9);
  CHECK(std::abs(fit->rms_mm - 0.4523271453) < 1e-9);
}

TEST_CASE("fitCircle: exact arcs of every sweep, far from the origin") {
  for (double radius : {0.3, 4.0, 80.0})
    for (double sweep : {0.3, 1.5, 6.0}) {
      Points points;
      for (int i = 0; i < 12; ++i)
        points.emplace_back(500 + radius * std::cos(sweep * i / 11),
                            -300 + radius * std::sin(sweep * i / 11));
      const auto fit = fitCircle(points);
      REQUIRE(fit);
      CHECK(std::abs(fit->radius_mm - radius) < 1e-6 * radius);
      CHECK(fit->rms_mm < 1e-9);
    }
}

TEST_CASE("fitCircle: its stated uncertainty covers the scatter of noisy fits") {
  std::mt19937 random(11);
  std::normal_distribution<double> noise(0, 0.02);
  double squares = 0, stated = 0;
  const int trials = 400;
  for (int t = 0; t < trials; ++t) {
    Points points;
    for (int i = 0; i < 20; ++i) {
      const double r = 5 + noise(random), a = 1.5 * i / 19;
      points.emplace_back(r * std::cos(a), r * std::sin(a));
    }
    const auto fit = fitCircle(points);
    REQUIRE(fit);
    squares += std::pow(fit->radius_mm - 5, 2) / trials;
    stated = fit->radius_per_mm * 0.02;
  }
  CHECK(std::sqrt(squares) / stated == doctest::Approx(1).epsilon(0.12));
}

TEST_CASE("fitCommonCircle: exact arcs about different centres, as parts of different turns") {
  std::vector<Points> arcs(3);
  for (int a = 0; a < 3; ++a)
    for (int i = 0; i < 9 + a; ++i) {
      const double angle = 0.4 * a + (0.6 + 0.3 * a) * i / (8 + a);
      arcs[a].emplace_back(20 * a + 6 * std::cos(angle), 3 - a + 6 * std::sin(angle));
    }
  const auto fit = fitCommonCircle(arcs);
  REQUIRE(fit);
  CHECK(std::abs(fit->radius_mm - 6) < 1e-7);
  REQUIRE(fit->centres_mm.size() == 3);
  for (int a = 0; a < 3; ++a)
    CHECK((fit->centres_mm[a] - Eigen::Vector2d(20 * a, 3 - a)).norm() < 1e-6);
  CHECK_FALSE(fitCommonCircle({}));
  arcs.push_back({{0, 0}, {1, 1}, {2, 2}});
  CHECK_FALSE(fitCommonCircle(arcs));
}

TEST_CASE("fitCommonCircle: one arc gives the orthogonal circle") {
  const std::vector<Points> one = {{{1, 7}, {2, 6}, {5, 8}, {7, 7}, {9, 5}, {3, 7}}};
  const auto fit = fitCommonCircle(one);  // Gander, Golub, Strebel, as above.
  REQUIRE(fit);
  CHECK(std::abs(fit->radius_mm - 4.7142260378) < 1e-8);
  CHECK(std::abs(fit->rms_mm - 0.4523271453) < 1e-8);
}

TEST_CASE("fitCommonCircle: short noisy arcs together are true, the mean of their fits is not") {
  std::mt19937 random(12);
  std::normal_distribution<double> noise(0, 0.06);
  double together = 0, apart = 0, squares = 0, stated = 0;
  const int trials = 150;
  for (int t = 0; t < trials; ++t) {
    std::vector<Points> arcs(12);
    for (Points& arc : arcs) {
      for (int i = 0; i < 10; ++i) {
        const double r = 3 + noise(random), angle = 0.9 * i / 9;
        arc.emplace_back(r * std::cos(angle), r * std::sin(angle));
      }
      const auto single = fitCircle(arc);
      REQUIRE(single);
      apart += single->radius_mm / (12 * trials);
    }
    const auto fit = fitCommonCircle(arcs);
    REQUIRE(fit);
    together += fit->radius_mm / trials;
    squares += std::pow(fit->radius_mm - 3, 2) / trials;
    stated = fit->radius_per_mm * 0.06;
  }
  CHECK(std::abs(apart - 3) > 0.1);
  CHECK(std::abs(together - 3) < 0.3 * std::abs(apart - 3));
  CHECK(std::sqrt(squares) / stated == doctest::Approx(1).epsilon(0.2));
}

TEST_CASE("fitCircle and fitLine: what has none") {
  CHECK_FALSE(fitCircle(Points{{0, 0}, {1, 0}}));
  CHECK_FALSE(fitCircle(Points{{0, 0}, {1, 1}, {2, 2}, {3, 3}}));
  CHECK_FALSE(fitCircle(Points(5, {2, 3})));
  CHECK_FALSE(fitLine(Points(5, {2, 3})));
  const auto line = fitLine(Points{{1, 1}, {3, 1 + 2 * std::sqrt(3.0)}});
  REQUIRE(line);
  CHECK(std::atan2(line->direction.y(), line->direction.x()) * 180 / M_PI == doctest::Approx(60));
}
