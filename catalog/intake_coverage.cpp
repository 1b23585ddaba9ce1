// SPDX-License-Identifier: Apache-2.0
#include "catalog/intake_coverage.h"

#include <array>
#include <cmath>
#include <string>

namespace holdshelf {
namespace {

constexpr int kNumbers = 12, kFewestPhotos = 8;
constexpr double kLowTo_deg = 27, kMiddleTo_deg = 52;

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

/// Numbers of the mat that no photo was taken from, nor from the numbers on both sides of it.
std::vector<int> gaps(const std::array<Ring, 3>& rings) {
  std::vector<int> missing;
  const auto seen = [&](int stop) {
    const auto i = static_cast<std::size_t>((stop + kNumbers) % kNumbers);
    return rings[0][i] + rings[1][i] + rings[2][i] > 0;
  };
  for (int stop = 0; stop < kNumbers; ++stop)
    if (!seen(stop) && (!seen(stop - 1) || !seen(stop + 1))) missing.push_back(stop + 1);
  return missing;
}

void advise(const std::array<Ring, 3>& rings, IntakeCoverage& coverage) {
  const int all = coverage.usable();
  if (all == 0) return;
  const std::vector<int> missing = gaps(rings);
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
  for (const PhotoLook& photo : photos) {
    if (!photo.usable()) continue;
    coverage.set_usable(coverage.usable() + 1);
    if (!photo.posed()) continue;
    const std::size_t ring = photo.elevation_deg() < kLowTo_deg      ? 0
                             : photo.elevation_deg() < kMiddleTo_deg ? 1
                                                                     : 2;
    ++rings[ring][static_cast<std::size_t>(matNumber(photo.azimuth_deg()) - 1)];
  }
  coverage.mutable_low()->Add(rings[0].begin(), rings[0].end());
  coverage.mutable_middle()->Add(rings[1].begin(), rings[1].end());
  coverage.mutable_high()->Add(rings[2].begin(), rings[2].end());
  coverage.set_enough(coverage.usable() >= kFewestPhotos);
  advise(rings, coverage);
  return coverage;
}

}  // namespace holdshelf
