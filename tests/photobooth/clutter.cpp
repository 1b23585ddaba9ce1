// SPDX-License-Identifier: Apache-2.0
#include "tests/photobooth/clutter.h"

#include <cmath>
#include <numbers>

#include "tests/photobooth/noise.h"

namespace holdshelf {
namespace {

using Eigen::Vector3f;

void addBox(Surface& s, const Vector3f& centre, const Vector3f& half, float turn) {
  const int first = static_cast<int>(s.position.size());
  for (int k = 0; k < 8; ++k) {
    const Vector3f q(k & 1 ? half.x() : -half.x(), k & 2 ? half.y() : -half.y(),
                     k & 4 ? half.z() : -half.z());
    s.position.emplace_back(centre.x() + std::cos(turn) * q.x() - std::sin(turn) * q.y(),
                            centre.y() + std::sin(turn) * q.x() + std::cos(turn) * q.y(),
                            centre.z() + q.z());
  }
  static constexpr int kFaces[12][3] = {{0, 2, 1}, {1, 2, 3}, {4, 5, 6}, {5, 7, 6},
                                        {0, 1, 4}, {1, 5, 4}, {2, 6, 3}, {3, 6, 7},
                                        {0, 4, 2}, {2, 4, 6}, {1, 3, 5}, {3, 7, 5}};
  for (const auto& f : kFaces) s.triangle.emplace_back(first + f[0], first + f[1], first + f[2]);
}

}  // namespace

Surface clutter(int count, std::uint32_t seed) {
  Surface s;
  Random random(seed ^ 0xc1u);
  for (int i = 0; i < count; ++i) {
    const double a = 2 * std::numbers::pi * (i + random.uniform()) / count;
    const double r = random.uniform(480, 1100);
    const Vector3f half(static_cast<float>(random.uniform(20, 120)),
                        static_cast<float>(random.uniform(20, 120)),
                        static_cast<float>(random.uniform(20, 220)));
    addBox(s,
           Vector3f(static_cast<float>(r * std::cos(a)), static_cast<float>(r * std::sin(a)),
                    half.z() - 5),
           half, static_cast<float>(random.uniform(0, 3)));
  }
  return s;
}

}  // namespace holdshelf
