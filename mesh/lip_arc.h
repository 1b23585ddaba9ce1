// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>
#include <vector>

#include "mesh/circle_fit.h"
#include "mesh/edge.h"

namespace holdshelf {

/// A lip's arc in one section, as cut, with some of the line before and behind it.
struct LipArc {
  std::vector<Eigen::Vector2d> at_mm;
  /// A point cut from the middle of a mesh edge lies inside the arc that the edge's ends lie on, by
  /// share (1 - share) L^2 / 2 r: that, outwards, times the radius r.
  std::vector<Eigen::Vector2d> outwards_mm2;
  std::size_t first = 0, last = 0;    ///< [first, last): the middle 80 % by arc length.
  double begin_deg = 0, end_deg = 0;  ///< Facing before and behind the arc.
  double by_length_mm = 0;  ///< The radius that the arc's length and turn alone speak for.
};

LipArc lipArc(const OutsideLine& line, const SectionEdge& edge, const EdgeOptions& options);

/// The circles of one radius through the lips of neighbouring sections (or of one).
///
/// The arcs' middles by arc length give a first fit; from then on what counts is what lies in the
/// middle of the turn as seen from the fitted centres, which forgives arcs whose ends noise has
/// hidden: too large a circle sees too long an arc, but the right one sees its own.
///
/// @param margin_deg  Noise of the arcs' end directions: this much more is left out at both ends.
/// @return nullopt where the first arc has fewer than 4 points or no circle. Other arcs with fewer
///         than 4 points are left out.
std::optional<CommonCircle> fitLipArcs(std::vector<LipArc> arcs, double margin_deg);

}  // namespace holdshelf
