// SPDX-License-Identifier: Apache-2.0
#include "tests/photobooth/surface.h"

namespace holdshelf {
namespace {

template <typename Values, typename Add>
void average(const Surface& surface, Values& values, Add add) {
  Values sum = values;
  std::vector<float> count(values.size(), 1.0f);
  for (const Eigen::Vector3i& t : surface.triangle)
    for (int k = 0; k < 3; ++k) {
      const auto a = static_cast<std::size_t>(t[k]), b = static_cast<std::size_t>(t[(k + 1) % 3]);
      // Not across sharp edges, where light is not continuous.
      if (surface.normal[a].dot(surface.normal[b]) < 0.8f) continue;
      add(sum[a], values[b], 1.0f);
      add(sum[b], values[a], 1.0f);
      ++count[a];
      ++count[b];
    }
  for (std::size_t i = 0; i < values.size(); ++i) {
    add(sum[i], sum[i], 1 / count[i] - 1);
    values[i] = sum[i];
  }
}

}  // namespace

void smoothLight(Surface& surface, int rounds, bool only_visible) {
  for (int round = 0; round < rounds; ++round) {
    if (!surface.visible.empty())
      average(surface, surface.visible, [](auto& to, const auto& from, float w) {
        for (int l = 0; l < kLights; ++l) to[l] += w * from[l];
      });
    if (only_visible) continue;
    average(surface, surface.sky, [](float& to, float from, float w) { to += w * from; });
    average(surface, surface.bounce, [](Eigen::Vector3f& to, const Eigen::Vector3f& from, float w) {
      to += (w * from).eval();
    });
  }
}

}  // namespace holdshelf
