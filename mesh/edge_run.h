// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>
#include <vector>

#include "mesh/edge.h"

namespace holdshelf {

/// An edge in one of the side-by-side sections.
struct EdgeAt {
  int slice = 0;
  SectionEdge edge;
};

/// An edge followed sideways; one place a slice at most, slices ascending.
using EdgeRun = std::vector<EdgeAt>;

/// How far two sections' edges are from being the same one, mm.
double lipDistance(const SectionEdge& a, const SectionEdge& b);

/// Joins the edges of sections that stand `step_mm` apart into runs, the nearest first. A run may
/// miss one section, where noise hides its edge.
std::vector<EdgeRun> joinSideways(const std::vector<std::vector<EdgeAt>>& by_slice, double step_mm);

/// A place on a run.
struct RunPlace {
  const EdgeRun* run = nullptr;
  std::size_t at = 0;
  const EdgeAt& edge() const { return (*run)[at]; }
};

/// How good an edge is to choose the best place by, mm: its depth up to 40 mm, less what it slopes.
double edgeMerit(double depth_mm, double incut_deg);

/// The best place of all runs: the middle of the longest stretch within 3 % of the best merit,
/// which is averaged over a finger's width. Runs narrower than `smallest_width_mm` are corners.
std::optional<RunPlace> bestPlace(const std::vector<EdgeRun>& runs, double step_mm,
                                  double finger_mm, double smallest_width_mm);

/// The best place in one slice only.
std::optional<RunPlace> bestPlaceIn(const std::vector<EdgeRun>& runs, int slice);

}  // namespace holdshelf
