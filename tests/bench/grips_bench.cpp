// SPDX-License-Identifier: Apache-2.0
// What the judgement of grips costs. Prints Markdown.
#include <algorithm>
#include <chrono>
#include <cstdio>
#include <vector>

#include "catalog/grip_map.h"
#include "tests/shapes/faceted_shape.h"

using namespace holdshelf;

/// Median wall time of `work` over `runs` runs, ms.
template <typename Work>
static double median_ms(int runs, Work work) {
  std::vector<double> times;
  for (int i = 0; i < runs; ++i) {
    const auto start = std::chrono::steady_clock::now();
    work();
    times.push_back(
        std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - start)
            .count());
  }
  std::nth_element(times.begin(), times.begin() + runs / 2, times.end());
  return times[static_cast<std::size_t>(runs) / 2];
}

int main() {
  const Shape four_edges = facetedShape({{.facing_deg = 90, .depth_mm = 45, .width_mm = 180},
                                         {.facing_deg = 0, .depth_mm = 20, .width_mm = 150},
                                         {.facing_deg = 180, .depth_mm = 25, .width_mm = 150},
                                         {.facing_deg = -90, .depth_mm = 14, .width_mm = 180}});
  const GripModel model(four_edges);
  std::size_t bytes = 0;
  const double ms = median_ms(21, [&] { bytes = makeGripMap(model).ByteSizeLong(); });
  std::printf(
      "| full grip map, 72 rotations by 17 wall angles, hand and foot | %.1f ms | %zu bytes |\n",
      ms, bytes);
}
