// SPDX-License-Identifier: Apache-2.0
#include "capture/agreement_peak.h"

#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <initializer_list>
#include <vector>

using namespace holdshelf;

namespace {

/// Heights a tenth of a millimetre apart about 10 mm.
std::vector<double> heights() {
  std::vector<double> out;
  for (int i = -20; i <= 20; ++i) out.push_back(10 + 0.1 * i);
  return out;
}

/// Three photos whose pairs agree best at the heights given, on 10 mm2 each.
std::vector<PairWords> wordsWithPeaks(double ab, double ac, double bc) {
  std::vector<PairWords> words;
  const auto at = [](double h, double peak) { return 0.9 - 0.2 * (h - peak) * (h - peak); };
  for (const double h : heights())
    words.push_back({{0, 1, 10, at(h, ab)}, {0, 2, 10, at(h, ac)}, {1, 2, 10, at(h, bc)}});
  return words;
}

}  // namespace

TEST_CASE("peakOf: a parabola's vertex, agreement and curvature, between the heights") {
  const auto peak = peakOf(heights(), wordsWithPeaks(10.23, 10.23, 10.23), -1);
  REQUIRE(peak);
  CHECK(peak->height_mm == doctest::Approx(10.23));
  CHECK(peak->agreement == doctest::Approx(0.9));
  CHECK(peak->curvature == doctest::Approx(0.4));
  CHECK_FALSE(peakOf(heights(), wordsWithPeaks(12.5, 12.5, 12.5), -1));  // One side only.
}

TEST_CASE("AgreementPeak: the doubt that is left, and none where the vertex lies above 1") {
  CHECK(AgreementPeak{10, 0.9, 0.4}.sigma_mm(10) == doctest::Approx(std::sqrt(0.1 / 4)));
  CHECK(AgreementPeak{10, 1.003, 0.4}.sigma_mm(10) == 0);
  CHECK(AgreementPeak{10, 0.3, 1e-9}.sigma_mm(1) == 50);
}

TEST_CASE("jackknifeSigma_mm: Efron's formula where each photo left out leaves one pair") {
  // Without 0 the peak is bc's, and so on: 10.3, 10.0, 9.9, whose mean is 10.0667.
  const double mean = (10.3 + 10.0 + 9.9) / 3;
  const double squares =
      std::pow(10.3 - mean, 2) + std::pow(10.0 - mean, 2) + std::pow(9.9 - mean, 2);
  CHECK(jackknifeSigma_mm({0, 1, 2}, heights(), wordsWithPeaks(9.9, 10.0, 10.3)) ==
        doctest::Approx(std::sqrt(2.0 / 3 * squares)));
  CHECK(jackknifeSigma_mm({0}, heights(), wordsWithPeaks(10, 10, 10)) == 0.5);
}

TEST_CASE("agreementScore: weighted by area, with a doubt that small areas do not overcome") {
  CHECK(agreementScore({{0, 1, 15, 0.8}, {0, 2, 5, 0.4}}) == doctest::Approx((12 + 2) / 25.0));
  CHECK(agreementScore({{0, 1, 11.9, 1}}) == 0);
}

TEST_CASE("outstandingHeight: one sharp peak; a rival, a broad hill and nothing are none") {
  std::vector<double> heights, score;
  for (int i = 0; i < 60; ++i) heights.push_back(0.5 * i);
  const auto with = [&](std::initializer_list<std::array<double, 3>> hills) {
    score.assign(heights.size(), 0.01);
    for (const auto& [at, high, wide] : hills)
      for (std::size_t k = 0; k < heights.size(); ++k)
        score[k] += high * std::exp(-std::pow((heights[k] - at) / wide, 2));
    return outstandingHeight(heights, score, 0.5);
  };
  CHECK(with({{14, 0.6, 1}}) == 14.0);
  CHECK(with({{14, 0.6, 1}, {22, 0.2, 1}}) == 14.0);
  CHECK_FALSE(with({{14, 0.6, 1}, {22, 0.5, 1}}));
  CHECK_FALSE(with({{14, 0.6, 6}}));
  CHECK_FALSE(outstandingHeight(heights, std::vector<double>(heights.size(), 0), 0.5));
  CHECK_FALSE(outstandingHeight({}, {}, 0.5));
}
