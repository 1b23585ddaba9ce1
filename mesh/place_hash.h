// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <bit>
#include <cstddef>
#include <cstdint>
#include <random>

namespace holdshelf {

/// A hash of a point's very digits; the same for -0 and 0. Seeded anew in each run, so that nobody
/// can write points that all fall into one place of a table.
inline std::size_t placeHash(const Eigen::Vector3d& point) {
  static const std::uint64_t seed =
      std::uint64_t{std::random_device()()} << 32 | std::random_device()();
  std::uint64_t h = seed;
  for (int k = 0; k < 3; ++k) {
    h ^= std::bit_cast<std::uint64_t>(point[k] + 0.0);  // -0 becomes 0.
    h *= 0xff51afd7ed558ccdull;
    h ^= h >> 32;
  }
  return static_cast<std::size_t>(h);
}

/// The same coordinates, digit by digit where they are no numbers: those, each unlike itself, would
/// all have to be passed by the next that falls on their place.
inline bool samePlace(const Eigen::Vector3d& a, const Eigen::Vector3d& b) {
  const auto digits = [](double x) { return std::bit_cast<std::uint64_t>(x); };
  return a == b || (digits(a.x()) == digits(b.x()) && digits(a.y()) == digits(b.y()) &&
                    digits(a.z()) == digits(b.z()));
}

}  // namespace holdshelf
