// SPDX-License-Identifier: Apache-2.0
#include "tests/photobooth/material.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>
#include <stdexcept>

#include "tests/photobooth/noise.h"

using namespace holdshelf;
using Eigen::Vector3f;

TEST_CASE("noise: its gradient is that of its value, and it has no bias") {
  Random random(1);
  double sum = 0;
  for (int i = 0; i < 3000; ++i) {
    const auto u = [&] { return static_cast<float>(random.uniform(-20, 20)); };
    const Vector3f p(u(), u(), u());
    const NoiseSample n = noise(p, 3);
    sum += n.value;
    for (int k = 0; k < 3; ++k) {
      const float e = 1e-2f;
      const float slope =
          (noise(p + e * Vector3f::Unit(k), 3).value - noise(p - e * Vector3f::Unit(k), 3).value) /
          (2 * e);
      CHECK(std::abs(slope - n.gradient[k]) < 0.02f);
    }
  }
  CHECK(std::abs(sum / 3000) < 0.03);
}

// Helmholtz reciprocity, and no surface returns more light than it gets.
TEST_CASE("reflect: reciprocal and not brighter than white") {
  Look look{Vector3f::Constant(0.7f), Vector3f::UnitZ(), 0.3f, 1};
  const auto direction = [](float polar, float turn) {
    return Vector3f(std::sin(polar) * std::cos(turn), std::sin(polar) * std::sin(turn),
                    std::cos(polar));
  };
  for (float a : {0.2f, 0.8f, 1.3f})
    for (float b : {0.1f, 0.6f, 1.2f}) {
      const Vector3f u = direction(a, 0), v = direction(b, 2);
      const float uv = reflect(look, u, v).x() / u.z(), vu = reflect(look, v, u).x() / v.z();
      CHECK(uv == doctest::Approx(vu).epsilon(1e-4));
    }
  for (float a : {0.0f, 0.7f, 1.2f}) {
    const Vector3f eye = direction(a, 0);
    double sum = 0;
    const int n = 200;
    for (int i = 0; i < n; ++i)  // Even in solid angle over the upper half.
      for (int j = 0; j < n; ++j) {
        const float z = (static_cast<float>(i) + 0.5f) / n;
        sum += reflect(look,
                       direction(std::acos(z), 2 * std::numbers::pi_v<float> *
                                                   (static_cast<float>(j) + 0.5f) / n),
                       eye)
                   .x();
      }
    const double albedo = sum * 2 * std::numbers::pi / (n * n);
    CAPTURE(a);
    CHECK(albedo > 0.7);
    CHECK(albedo < 1);
  }
}

TEST_CASE("colourNamed") {
  CHECK(colourNamed("#ff0000").z() == doctest::Approx(1));
  CHECK(colourNamed("#ff0000").x() == doctest::Approx(0));
  CHECK_THROWS_AS(colourNamed("octarine"), std::invalid_argument);
}
