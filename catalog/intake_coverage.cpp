// SPDX-License-Identifier: Apache-2.0
#include "catalog/intake_coverage.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <set>
#include <string>

namespace holdshelf {
namespace {

constexpr int kNumbers = 12, kFewestPhotos = 8;
constexpr double kLowTo_deg = 27, kMiddleTo_deg = 52;
constexpr double kWidestGap_deg = 45;  // As capture/rebuild.cpp advises on the finished capture.
constexpr double kInside_deg = 10;

using Ring = std::array<int, kNumbers>;

/// "3, 4 and 7".
std::string listText(const std::vector<int>& numbers) {
  std::string text;
  for (std::size_t i = 0; i < numbers.size(); ++i)
    text += (i == 0 ? "" : i + 1 == numbers.size() ? " and " : ", ") + std::to_string(numbers[i]);
  return text;
}

int total(const Ring& ring) {
  int sum = 0;
  for (const int count : ring) sum += count;
  return sum;
}

/// Numbers of the mat in the gaps that are wider than kWidestGap_deg: those well inside of one, or
/// the one nearest to its middle.
std::vector<int> missingNumbers(std::vector<double> azimuths_deg) {
  if (azimuths_deg.empty()) return {};
  std::sort(azimuths_deg.begin(), azimuths_deg.end());
  azimuths_deg.push_back(azimuths_deg.front() + 360);
  std::set<int> missing;
  for (std::size_t i = 1; i < azimuths_deg.size(); ++i) {
    const double from = azimuths_deg[i - 1], to = azimuths_deg[i];
    if (to - from <= kWidestGap_deg) continue;
    missing.insert(matNumber((from + to) / 2));
    for (double at = 30 * std::ceil((from + kInside_deg) / 30); at <= to - kInside_deg; at += 30)
      missing.insert(matNumber(at));
  }
  return {missing.begin(), missing.end()};
}

void advise(const std::array<Ring, 3>& rings, const std::vector<double>& azimuths_deg,
            IntakeCoverage& coverage) {
  const int all = coverage.usable();
  if (all == 0) return;
  const std::vector<int> missing = missingNumbers(azimuths_deg);
  if (!missing.empty())
    coverage.add_advice("No photo yet from the mat's " +
                        std::string(missing.size() > 1 ? "numbers " : "number ") +
                        listText(missing) + ".");
  if (total(rings[0]) < 3)
    coverage.add_advice(
        "Few photos from low down (15 degrees, nearly along the table): they show the grip behind "
        "the lip.");
  if (total(rings[2]) < 3)
    coverage.add_advice(
        "Few photos from high up (65 degrees, nearly from above): they show the top and the bolt "
        "hole.");
  if (all < kFewestPhotos)
    coverage.add_advice("A rebuild needs " + std::to_string(kFewestPhotos) +
                        " usable photos at least; 36 are good.");
}

}  // namespace

int matNumber(double azimuth_deg) {
  const int stop = static_cast<int>(std::lround((azimuth_deg + 90) / 30));
  return ((stop % kNumbers) + kNumbers) % kNumbers + 1;
}

IntakeCoverage coverageOf(const std::vector<PhotoLook>& photos) {
  IntakeCoverage coverage;
  std::array<Ring, 3> rings{};
  std::vector<double> azimuths_deg;
  for (const PhotoLook& photo : photos) {
    if (!photo.usable()) continue;
    coverage.set_usable(coverage.usable() + 1);
    if (!photo.posed()) continue;
    const std::size_t ring = photo.elevation_deg() < kLowTo_deg      ? 0
                             : photo.elevation_deg() < kMiddleTo_deg ? 1
                                                                     : 2;
    azimuths_deg.push_back(photo.azimuth_deg());
    ++rings[ring][static_cast<std::size_t>(matNumber(photo.azimuth_deg()) - 1)];
  }
  coverage.mutable_low()->Add(rings[0].begin(), rings[0].end());
  coverage.mutable_middle()->Add(rings[1].begin(), rings[1].end());
  coverage.mutable_high()->Add(rings[2].begin(), rings[2].end());
  coverage.set_enough(coverage.usable() >= kFewestPhotos);
  advise(rings, azimuths_deg, coverage);
  return coverage;
}

}  // namespace holdshelf
