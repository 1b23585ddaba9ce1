// SPDX-License-Identifier: Apache-2.0
#include "capture/mat_in_view.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>

namespace holdshelf {

MatInView matInView(const std::vector<Eigen::Vector2d>& corners_M_mm,
                    const std::vector<int>& seen) {
  constexpr int kPhotos = 3;
  Eigen::AlignedBox2d box;
  for (const Eigen::Vector2d& corner : corners_M_mm) box.extend(corner);
  std::vector<double> azimuths;
  int whole = 0, markers = 0;
  for (std::size_t c = 0; c + 3 < corners_M_mm.size(); c += 4, ++markers) {
    const auto first = seen.begin() + static_cast<std::ptrdiff_t>(c);
    if (!std::all_of(first, first + 4, [](int photos) { return photos >= kPhotos; })) continue;
    ++whole;
    for (std::size_t k = c; k < c + 4; ++k) {
      const Eigen::Vector2d d = corners_M_mm[k] - box.center();
      azimuths.push_back(std::atan2(d.y(), d.x()) * 180 / M_PI);
    }
  }
  MatInView view;
  if (markers == 0) return view;
  view.share = static_cast<double>(whole) / markers;
  std::sort(azimuths.begin(), azimuths.end());
  view.gap_deg = azimuths.empty() ? 360 : azimuths.front() + 360 - azimuths.back();
  for (std::size_t i = 1; i < azimuths.size(); ++i)
    view.gap_deg = std::max(view.gap_deg, azimuths[i] - azimuths[i - 1]);
  return view;
}

}  // namespace holdshelf
