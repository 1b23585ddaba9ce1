// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <cmath>
#include <utility>
#include <vector>

#include "capture/outline_field.h"
#include "mesh/isosurface.h"
#include "mesh/progress.h"

namespace holdshelf {

/// The combined word of all views on a point: mm outside (+) or inside (-) of the hull, which is
/// the (outvoted + 1)-th strongest of theirs; kFar where too few have it in their frame. Keeps a
/// reference to the fields.
class Carver {
 public:
  /// @param outvoted     Views that may call a point empty in vain; -1: one in forty.
  /// @param min_seen_by  Share of the views that must have a point in their frame.
  Carver(const std::vector<OutlineField>& fields, int outvoted, double min_seen_by)
      : fields_(fields) {
    const int n = int(fields.size());
    outvoted_ =
        std::clamp(outvoted >= 0 ? outvoted : n / 40, 0, std::min(n - 1, kMostOutvoted - 1));
    needed_ = std::max(2, int(std::ceil(min_seen_by * n)));
  }

  float operator()(const Eigen::Vector3d& point_mm) const {
    const Eigen::Vector4f p = point_mm.homogeneous().cast<float>();
    std::array<float, kMostOutvoted> strongest;  // Descending.
    strongest.fill(-kFar);
    int seen = 0;
    for (const OutlineField& f : fields_) {
      const auto word = f.outside_mm(p);
      if (!word) continue;
      ++seen;
      float v = *word;
      for (int k = 0; k <= outvoted_; ++k)
        if (v > strongest[k]) std::swap(v, strongest[k]);
    }
    return seen >= needed_ ? strongest[outvoted_] : kFar;
  }

  static constexpr float kFar = 1e4f;

 private:
  static constexpr int kMostOutvoted = 16;
  const std::vector<OutlineField>& fields_;
  int outvoted_ = 0, needed_ = 2;
};

/// A grid that covers the box, its origin at the box's lower corner, all of it far outside.
VoxelGrid gridOver(const Eigen::AlignedBox3d& box_mm, double cell_mm);

/// Fills the grid with the views' word: blocks of 8 x 8 x 8 samples that are far from the outline
/// get their centre's value, the others are computed point by point. The value changes by at most
/// about a millimetre a millimetre (more where a view is oblique, hence a factor of 1.5).
/// @throws Interrupted  progress returned false.
void carveGrid(const Carver& carver, VoxelGrid& grid, const Progress& progress);

}  // namespace holdshelf
