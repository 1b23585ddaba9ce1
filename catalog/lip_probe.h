// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>
#include <vector>

#include "catalog/lip_curve.h"

namespace holdshelf {

/// A wanted lip laid on stored ones: these points beside the points `first`, `first` + 1, ... of a
/// LipCurve. A wanted line that is shorter than a LipCurve is compared only where it runs.
struct LipPlacement {
  int first = 0;
  std::vector<Eigen::Vector2f> at_mm;  ///< At most LipCurve::kPoints.
};

/// One wanted lip in all placements to be tried: its middle need not be the stored ones' middle.
/// The gap to a stored lip is that of the best placement.
using LipProbe = std::vector<LipPlacement>;

/// The lip of a hold: moved along itself by up to 2 mm in steps of a quarter, since the
/// middles of two measured lips differ by some of that.
LipProbe probeLike(const LipCurve& curve);

/// A drawn line, (u, z) in mm, in either direction and from any origin, as much or as little of a
/// section as there is. Its lip is where it turns most towards the grip face.
/// @throws BadInput  It is shorter than 8 mm or longer than 2 m, or it turns by less than 20
/// degrees towards a grip
///                   face: there is no lip in it.
LipProbe probeDrawn(SectionPath path);

/// A lip from numbers: a face square to the climber, an arc of this radius, and a straight grip
/// face of this incut; down to a floor at this depth, or 24 mm of it.
/// @throws BadInput  The radius is not above 0, or the arc alone is deeper than the depth.
SectionPath lipOfNumbers(double radius_mm, double incut_deg, std::optional<double> depth_mm = {});

/// Two lips laid on each other by the shift that brings them nearest.
struct LipOverlay {
  std::vector<Eigen::Vector2f> wanted_mm, found_mm;    ///< Point beside point, (u, z).
  Eigen::Vector2f shift_mm = Eigen::Vector2f::Zero();  ///< Added to the wanted line's own points.
  double gap_mm = 0;     ///< Root mean square of the gaps: what results are ranked by.
  double gap_95_mm = 0;  ///< 95 % of the gaps are no larger.
};
LipOverlay overlay(const LipPlacement& wanted, const LipCurve& found);

/// The placement nearest to a curve, and its gap in mm.
std::pair<std::size_t, double> bestPlacement(const LipProbe& probe, const LipCurve& curve);

}  // namespace holdshelf
