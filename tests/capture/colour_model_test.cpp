// SPDX-License-Identifier: Apache-2.0
#include "capture/colour_model.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

using namespace holdshelf;
using Samples = std::vector<Eigen::Vector3f>;

static Samples cloud(const Eigen::Vector3f& mean, float sigma, int count, unsigned seed) {
  std::mt19937 rng(seed);
  std::normal_distribution<float> normal(0, sigma);
  Samples samples;
  for (int i = 0; i < count; ++i)
    samples.push_back(mean + Eigen::Vector3f(normal(rng), normal(rng), normal(rng)));
  return samples;
}

TEST_CASE("ColourModel: one cloud gives the density of its normal distribution") {
  const float sigma = 0.3f;
  const auto model = ColourModel::learn(cloud({-1, 0.2f, 0.1f}, sigma, 20000, 3), 1);
  // Variances add: the model spreads by 0.04; 4 % are the floor's.
  const double s = std::hypot(0.3, 0.04);
  for (double d : {0.0, 0.3, 0.6}) {
    const double expected =
        std::log(0.96 * std::exp(-d * d / (2 * s * s)) / std::pow(2 * M_PI * s * s, 1.5) +
                 std::exp(double(ColourModel::logFloor())));
    CHECK(std::abs(double(model.logDensity({-1, 0.2f + float(d), 0.1f})) - expected) < 0.06);
  }
}

TEST_CASE("ColourModel: two clouds, what lies between and far off") {
  Samples samples = cloud({-2, 0, 0}, 0.05f, 500, 1);
  const Samples other = cloud({-0.5f, 0.8f, 0}, 0.05f, 500, 2);
  samples.insert(samples.end(), other.begin(), other.end());
  const auto model = ColourModel::learn(samples, 2);
  CHECK(model.logDensity({-2, 0, 0}) > 2);
  CHECK(model.logDensity({-0.5f, 0.8f, 0}) > 2);
  CHECK(model.logDensity({-1.2f, 0.4f, 0}) < ColourModel::logFloor() + 0.1f);
  CHECK(model.logDensity({9, 9, 9}) == doctest::Approx(ColourModel::logFloor()));
  // The same samples in another order give the same model.
  std::reverse(samples.begin(), samples.end());
  const auto again = ColourModel::learn(samples, 2);
  CHECK(again.logDensity({-1.9f, 0, 0}) == doctest::Approx(model.logDensity({-1.9f, 0, 0})));
}

TEST_CASE("ColourModel: too few samples teach nothing") {
  const auto model = ColourModel::learn(cloud({0, 0, 0}, 1, 12, 1), 3);
  CHECK(model.empty());
  CHECK(model.logDensity({0, 0, 0}) == doctest::Approx(ColourModel::logFloor()));
}

TEST_CASE("colourFeature: a shadow changes the luminance, hardly the rest") {
  const Eigen::Vector3f bright(0.8f, 0.4f, 0.2f);
  const Eigen::Vector3f full = colourFeature(bright), half = colourFeature(bright / 2);
  CHECK(full[0] - half[0] == doctest::Approx(std::log(2)).epsilon(0.05));
  CHECK(std::abs(full[1] - half[1]) < 0.05f);
  CHECK(std::abs(full[2] - half[2]) < 0.06f);
  CHECK(colourFeature({-1, 0, 0}).allFinite());
}
