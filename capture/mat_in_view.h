// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <vector>

namespace holdshelf {

/// How much of the mat a capture shows, and whether it shows it all round.
struct MatInView {
  double share = 1;    ///< Of the markers: those that three photos or more show whole.
  double gap_deg = 0;  ///< Widest angle about the mat's middle in which none of these lies.

  /// Whether something besides the hold lies on the mat, or the hold at its edge. A hold in the
  /// middle hides what is under it and leaves markers all round, however large it is; a card or a
  /// box beside it hides one side. The limits are from rendered captures (tests/bench/README.md,
  /// Captures that go wrong), no source.
  bool covered() const { return share < 0.75 && gap_deg > 110; }
  /// Whether so little of it shows that scale and wall plane rest on few markers (judgement, no
  /// source).
  bool scarce() const { return share < 0.4; }
};

/// @param corners_M_mm  The layout, four corners a marker.
/// @param seen          Photos in which each corner was used.
MatInView matInView(const std::vector<Eigen::Vector2d>& corners_M_mm, const std::vector<int>& seen);

}  // namespace holdshelf
