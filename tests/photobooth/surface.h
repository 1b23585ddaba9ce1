// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <array>
#include <cstdint>
#include <vector>

namespace holdshelf {

inline constexpr int kLights = 3;

/// A part of the scene as triangles that carry the smooth part of the light: what a vertex sees of
/// the sky, of its surroundings and of each area light. Shadows and ambient occlusion are gathered
/// with many rays once and interpolated, so that pictures have no sampling noise of their own.
struct Surface {
  std::vector<Eigen::Vector3f> position;  ///< mm.
  std::vector<Eigen::Vector3f> normal;
  std::vector<Eigen::Vector3i> triangle;
  std::vector<float> sky;               ///< Cosine-weighted share of open sky.
  std::vector<Eigen::Vector3f> bounce;  ///< Radiance from surroundings, cosine-weighted mean.
  std::vector<std::array<float, kLights>> visible;  ///< Share of each light that is not hidden.
};

/// Flat rectangle of square cells at z = height(x, y), facing up.
template <typename Height>
Surface sheet(double half_x_mm, double half_y_mm, double cell_mm, Height height) {
  Surface s;
  const int nx = static_cast<int>(2 * half_x_mm / cell_mm) + 1;
  const int ny = static_cast<int>(2 * half_y_mm / cell_mm) + 1;
  for (int j = 0; j <= ny; ++j)
    for (int i = 0; i <= nx; ++i) {
      const double x = half_x_mm * (2.0 * i / nx - 1), y = half_y_mm * (2.0 * j / ny - 1);
      const double e = 0.5;
      const Eigen::Vector3d n(height(x - e, y) - height(x + e, y),
                              height(x, y - e) - height(x, y + e), 2 * e);
      s.position.emplace_back(Eigen::Vector3d(x, y, height(x, y)).cast<float>());
      s.normal.emplace_back(n.normalized().cast<float>());
    }
  for (int j = 0; j < ny; ++j)
    for (int i = 0; i < nx; ++i) {
      const int a = j * (nx + 1) + i, b = a + nx + 1;
      s.triangle.emplace_back(a, a + 1, b + 1);
      s.triangle.emplace_back(a, b + 1, b);
    }
  return s;
}

/// Averages the light attributes with the neighbours', `rounds` times.
void smoothLight(Surface& surface, int rounds, bool only_visible);

}  // namespace holdshelf
