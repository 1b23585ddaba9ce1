// SPDX-License-Identifier: Apache-2.0
#include "capture/agreement_peak.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <cstddef>

namespace holdshelf {
namespace {

constexpr double kLeastPair_mm2 = 4;  ///< Below this a pair says nothing.
constexpr double kLeast_mm2 = 12;     ///< All pairs together.
constexpr double kDoubt_mm2 = 5;      ///< Of disagreement, added to each height's evidence.
constexpr double kAlone = 0.55;       ///< The next best height must fall below this share.
constexpr double kApart_mm = 2.5;     ///< Heights this far apart are rivals.
constexpr double kBroadest_mm = 5;    ///< A floor is out of focus a few mm above or below it.
constexpr double kBroadAt = 0.6;      ///< Of a peak's score: where its breadth is measured.
constexpr double kUpperPart = 0.06;   ///< Of the peak's correlation, that its place is taken from.

/// The peak that a height lies on.
std::size_t upFrom(const std::vector<double>& score, std::size_t k) {
  for (;;) {
    if (k + 1 < score.size() && score[k + 1] > score[k])
      ++k;
    else if (k > 0 && score[k - 1] > score[k])
      --k;
    else
      return k;
  }
}

/// Whether a peak is a broad one: no floor's, but that of the shade which the rim throws into the
/// recess and which photos share at any height somewhat.
bool broad(const std::vector<double>& score, std::size_t peak, double step_mm) {
  std::size_t low = peak, high = peak;
  while (low > 0 && score[low - 1] > kBroadAt * score[peak]) --low;
  while (high + 1 < score.size() && score[high + 1] > kBroadAt * score[peak]) ++high;
  return static_cast<double>(high - low) * step_mm > kBroadest_mm;
}

/// The vertex of the least-squares parabola through some of the heights_mm' means.
std::optional<AgreementPeak> parabola(const std::vector<double>& heights_mm,
                                      const std::vector<double>& mean, std::size_t low,
                                      std::size_t high) {
  const double middle = 0.5 * (heights_mm[low] + heights_mm[high]);
  Eigen::Matrix3d A = Eigen::Matrix3d::Zero();
  Eigen::Vector3d b = Eigen::Vector3d::Zero();
  for (std::size_t k = low; k <= high; ++k) {
    const double t = heights_mm[k] - middle;
    const Eigen::Vector3d row(1, t, t * t);
    A += row * row.transpose();
    b += row * mean[k];
  }
  const Eigen::Vector3d q = A.ldlt().solve(b);
  if (q[2] >= 0) return std::nullopt;
  const double vertex = -q[1] / (2 * q[2]);
  if (std::abs(vertex) > 0.5 * (heights_mm[high] - heights_mm[low])) return std::nullopt;
  return AgreementPeak{middle + vertex, q[0] + 0.5 * q[1] * vertex, -2 * q[2]};
}

}  // namespace

double AgreementPeak::sigma_mm(double patches) const {
  constexpr double kMost_mm = 50;  // A mesh file's uncertainties end at 100.
  return std::min(kMost_mm, std::sqrt(std::max(0.0, 1 - agreement) / (curvature * patches)));
}

double agreementScore(const PairWords& words) {
  double sum = 0, area = 0;
  for (const PairWord& word : words) {
    sum += word.area_mm2 * word.correlation;
    area += word.area_mm2;
  }
  return area >= kLeast_mm2 ? sum / (area + kDoubt_mm2) : 0;
}

std::optional<double> outstandingHeight(const std::vector<double>& heights_mm,
                                        const std::vector<double>& score, double step_mm) {
  if (score.empty()) return std::nullopt;
  const auto best =
      static_cast<std::size_t>(std::max_element(score.begin(), score.end()) - score.begin());
  if (score[best] <= 0 || broad(score, best, step_mm)) return std::nullopt;
  for (std::size_t k = 0; k < heights_mm.size(); ++k)
    if (std::abs(heights_mm[k] - heights_mm[best]) > kApart_mm && score[k] > kAlone * score[best] &&
        upFrom(score, k) != best)  // A peak's own slope is no rival.
      return std::nullopt;
  return heights_mm[best];
}

std::optional<AgreementPeak> peakOf(const std::vector<double>& heights_mm,
                                    const std::vector<PairWords>& words, int without) {
  constexpr double kNothing = -1;
  std::vector<double> mean(heights_mm.size(), kNothing);
  for (std::size_t k = 0; k < heights_mm.size(); ++k) {
    double sum = 0, area = 0;
    for (const PairWord& word : words[k]) {
      if (word.a == without || word.b == without) continue;
      sum += word.area_mm2 * word.correlation;
      area += word.area_mm2;
    }
    if (area > kLeastPair_mm2) mean[k] = sum / area;
  }
  const auto best =
      static_cast<std::size_t>(std::max_element(mean.begin(), mean.end()) - mean.begin());
  // All of the peak's upper part speaks: noise shifts the single highest place of a broad one.
  std::size_t low = best, high = best;
  while (low > 0 && mean[low - 1] > mean[best] - kUpperPart) --low;
  while (high + 1 < mean.size() && mean[high + 1] > mean[best] - kUpperPart) ++high;
  // A peak has two sides.
  if (low == 0 || high + 1 == mean.size() || high - low < 4 || mean[low - 1] == kNothing)
    return std::nullopt;
  return parabola(heights_mm, mean, low, high);
}

double jackknifeSigma_mm(const std::vector<int>& photos, const std::vector<double>& heights_mm,
                         const std::vector<PairWords>& words) {
  std::vector<double> without;
  for (int photo : photos)
    if (const auto peak = peakOf(heights_mm, words, photo)) without.push_back(peak->height_mm);
  if (without.size() < 2) return 0.5;
  double mean = 0, squared = 0;
  for (double h : without) mean += h / static_cast<double>(without.size());
  for (double h : without) squared += (h - mean) * (h - mean);
  const double n = static_cast<double>(without.size());
  return std::sqrt((n - 1) / n * squared);
}

}  // namespace holdshelf
