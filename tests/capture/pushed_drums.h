// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cmath>
#include <vector>

#include "tests/capture/drum_scene.h"

namespace holdshelf::test {

/// Two rings of eight pictures of the drums, 60 mm wide; from picture `pushed_from` on they stand
/// `push_mm` further along x.
inline std::vector<View> pictures(const MatScene& world, int pushed_from, double push_mm) {
  const TriangleMesh still = twoDrums({200, 60, 40});
  TriangleMesh pushed = still;
  for (Eigen::Vector3d& v : pushed.vertices_mm) v.x() += push_mm;
  std::vector<View> views;
  for (int k = 0; k < 16; ++k) {
    const double azimuth = 45.0 * k + 20 * (k / 8), a = (azimuth + 70) * M_PI / 180;
    views.push_back(world.photograph(
        k < pushed_from ? still : pushed, MatScene::camera(azimuth, k < 8 ? 20 : 55),
        30 * Eigen::Vector2d(std::cos(a), std::sin(a)), unsigned(k + 1), nullptr));
  }
  return views;
}

}  // namespace holdshelf::test
