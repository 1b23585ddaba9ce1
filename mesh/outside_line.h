// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <vector>

#include "mesh/section.h"

namespace holdshelf {

struct OutsideOptions {
  double step_mm = 0.4;    ///< Between samples.
  double window_mm = 1.2;  ///< Over which the surface's direction is averaged.
  /// A piece of the section that lies this low and faces the wall is the back, not the outside.
  double back_mm = 0.5;
};

/// One outside line of a section, from wall to wall: u to the right, z up, the solid to the right
/// of the way. Walked from -u over the front to +u.
struct OutsideLine {
  std::vector<SectionPoint> points;  ///< As cut.
  std::vector<double> run_mm;        ///< #points: arc length from the first.
  double step_mm = 0;
  std::vector<Eigen::Vector2d> at_mm;  ///< Samples every step along the line.
  /// Direction of the outward normal at each sample: 0 faces the climber (+z), 90 faces against the
  /// pull (+u), beyond 90 towards the wall as well; -180 to 180. Averaged over the window.
  std::vector<float> facing_deg;
  bool closed = false;  ///< A ring in mid-air, opened where it faces the wall.

  double length_mm() const { return run_mm.empty() ? 0 : run_mm.back(); }
  /// The exact line at an arc length.
  Eigen::Vector2d pointAt(double run) const;
  /// Indices [first, second) of the cut points between two arc lengths.
  std::pair<std::size_t, std::size_t> pointsBetween(double from_mm, double to_mm) const;
};

/// The outside lines of a section: the back is taken away, what remains is sampled and smoothed.
/// Lines shorter than 3 mm are dropped.
/// @throws BadInput  They are longer than 100 m in all: a pleated surface, or many over one
/// another.
std::vector<OutsideLine> outsideLines(const SectionLines& lines, const OutsideOptions& options);

}  // namespace holdshelf
