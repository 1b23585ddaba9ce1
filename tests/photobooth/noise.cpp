// SPDX-License-Identifier: Apache-2.0
#include "tests/photobooth/noise.h"

#include <cmath>
#include <numbers>

namespace holdshelf {
namespace {

float lattice(int x, int y, int z, std::uint32_t seed) {
  const std::uint32_t h = mix(static_cast<std::uint32_t>(x) * 0x8da6b343u ^
                              static_cast<std::uint32_t>(y) * 0xd8163841u ^
                              static_cast<std::uint32_t>(z) * 0xcb1ab31fu ^ seed);
  return static_cast<float>(h) * (2.0f / 4294967296.0f) - 1.0f;
}

}  // namespace

NoiseSample noise(const Eigen::Vector3f& p, std::uint32_t seed) {
  const Eigen::Vector3f floor = p.array().floor();
  const Eigen::Vector3f f = p - floor;
  const int x = static_cast<int>(floor.x()), y = static_cast<int>(floor.y()),
            z = static_cast<int>(floor.z());
  const Eigen::Array3f t = f.array();
  const Eigen::Array3f u = t * t * t * (t * (t * 6 - 15) + 10);
  const Eigen::Array3f du = 30 * t * t * (t * (t - 2) + 1);
  const float a = lattice(x, y, z, seed), b = lattice(x + 1, y, z, seed);
  const float c = lattice(x, y + 1, z, seed), d = lattice(x + 1, y + 1, z, seed);
  const float e = lattice(x, y, z + 1, seed), g = lattice(x + 1, y, z + 1, seed);
  const float h = lattice(x, y + 1, z + 1, seed), i = lattice(x + 1, y + 1, z + 1, seed);
  const float k1 = b - a, k2 = c - a, k3 = e - a, k4 = a - b - c + d, k5 = a - c - e + h,
              k6 = a - b - e + g, k7 = -a + b + c - d + e - g - h + i;
  NoiseSample n;
  n.value = a + k1 * u.x() + k2 * u.y() + k3 * u.z() + k4 * u.x() * u.y() + k5 * u.y() * u.z() +
            k6 * u.z() * u.x() + k7 * u.x() * u.y() * u.z();
  n.gradient = {du.x() * (k1 + k4 * u.y() + k6 * u.z() + k7 * u.y() * u.z()),
                du.y() * (k2 + k5 * u.z() + k4 * u.x() + k7 * u.z() * u.x()),
                du.z() * (k3 + k6 * u.x() + k5 * u.y() + k7 * u.x() * u.y())};
  return n;
}

double Random::normal() {
  const double r = std::sqrt(-2 * std::log(uniform()));
  return r * std::cos(2 * std::numbers::pi * uniform());
}

}  // namespace holdshelf
