// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <cstdint>

namespace holdshelf {

/// Smooth random field in space and its gradient.
struct NoiseSample {
  float value;               ///< About [-1, 1], mean 0, standard deviation about 0.3.
  Eigen::Vector3f gradient;  ///< Per unit of the argument.
};

/// Value noise on the unit lattice with quintic interpolation: features about one unit wide, no
/// period, the same on every machine.
NoiseSample noise(const Eigen::Vector3f& p, std::uint32_t seed);

/// 32 well-mixed bits from 32 (the finaliser of MurmurHash3, A. Appleby, public domain).
inline std::uint32_t mix(std::uint32_t x) {
  x ^= x >> 16;
  x *= 0x85ebca6bu;
  x ^= x >> 13;
  x *= 0xc2b2ae35u;
  return x ^ x >> 16;
}

/// A small repeatable generator; numbers do not depend on the standard library.
class Random {
 public:
  explicit Random(std::uint32_t seed) : state_(mix(seed + 0x9e3779b9u)) {}
  std::uint32_t bits() { return mix(state_ += 0x9e3779b9u); }
  double uniform() { return (bits() + 0.5) / 4294967296.0; }
  double uniform(double low, double high) { return low + (high - low) * uniform(); }
  double normal();  ///< Mean 0, standard deviation 1 (Box-Muller).

 private:
  std::uint32_t state_;
};

}  // namespace holdshelf
