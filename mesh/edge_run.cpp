// SPDX-License-Identifier: Apache-2.0
#include "mesh/edge_run.h"

#include <algorithm>
#include <cmath>
#include <tuple>

namespace holdshelf {
namespace {

double arcLength(const SectionEdge& e) { return e.arc_end_mm - e.arc_begin_mm; }

/// One slice's edges and the runs that are still open, with how far apart they are where they may
/// belong together.
std::vector<std::tuple<double, std::size_t, std::size_t>> likelyPairs(
    const std::vector<EdgeAt>& edges, const std::vector<EdgeRun>& runs,
    const std::vector<std::size_t>& open, double step_mm) {
  std::vector<std::tuple<double, std::size_t, std::size_t>> pairs;
  for (std::size_t e = 0; e < edges.size(); ++e)
    for (std::size_t r = 0; r < open.size(); ++r) {
      const EdgeAt& last = runs[open[r]].back();
      const double d = lipDistance(last.edge, edges[e].edge);
      // On a large round lip the outermost point is anywhere on its flat top.
      const double arc = std::min(arcLength(last.edge), arcLength(edges[e].edge));
      if (d < (1.5 + 1.7 * step_mm) * (edges[e].slice - last.slice) + 0.15 * arc)
        pairs.emplace_back(d, e, r);
    }
  std::sort(pairs.begin(), pairs.end());
  return pairs;
}

/// Mean merit of the places within half a finger of each place.
std::vector<double> merits(const EdgeRun& run, double step_mm, double finger_mm) {
  std::vector<double> merit(run.size()), smooth(run.size());
  for (std::size_t i = 0; i < run.size(); ++i)
    merit[i] = edgeMerit(run[i].edge.depth_mm, run[i].edge.incut_deg);
  const int half = std::max(1, static_cast<int>(finger_mm / 2 / step_mm));
  for (std::size_t i = 0; i < run.size(); ++i) {
    double sum = 0;
    for (std::size_t k = 0; k < run.size(); ++k)
      if (std::abs(run[k].slice - run[i].slice) <= half) sum += merit[k];
    smooth[i] = sum / (2 * half + 1);
  }
  return smooth;
}

/// The middle of the longest stretch of values from `least` up.
std::size_t middleOfLongest(const std::vector<double>& values, double least) {
  std::size_t place = 0, longest = 0, from = 0;
  for (std::size_t i = 0; i <= values.size(); ++i) {
    if (i < values.size() && values[i] >= least) continue;
    if (i - from > longest) {
      longest = i - from;
      place = from + (longest - 1) / 2;
    }
    from = i + 1;
  }
  return place;
}

}  // namespace

double lipDistance(const SectionEdge& a, const SectionEdge& b) {
  return (a.lip_at_mm - b.lip_at_mm).norm() + 0.4 * (a.root_at_mm - b.root_at_mm).norm();
}

std::vector<EdgeRun> joinSideways(const std::vector<std::vector<EdgeAt>>& by_slice,
                                  double step_mm) {
  std::vector<EdgeRun> runs;
  std::vector<std::size_t> open;
  for (std::size_t slice = 0; slice < by_slice.size(); ++slice) {
    const std::vector<EdgeAt>& edges = by_slice[slice];
    std::vector<bool> placed(edges.size(), false), used(open.size(), false);
    for (const auto& [d, e, r] : likelyPairs(edges, runs, open, step_mm)) {
      if (placed[e] || used[r]) continue;
      placed[e] = used[r] = true;
      runs[open[r]].push_back(edges[e]);
    }
    std::vector<std::size_t> still_open;
    for (std::size_t e = 0; e < edges.size(); ++e)
      if (!placed[e]) {
        still_open.push_back(runs.size());
        runs.push_back({edges[e]});
      }
    for (std::size_t r : open)
      if (runs[r].back().slice >= static_cast<int>(slice) - 1) still_open.push_back(r);
    open = std::move(still_open);
  }
  return runs;
}

double edgeMerit(double depth_mm, double incut_deg) {
  return std::min(depth_mm, 40.0) * std::clamp((incut_deg + 65) / 65, 0.05, 1.15);
}

std::optional<RunPlace> bestPlace(const std::vector<EdgeRun>& runs, double step_mm,
                                  double finger_mm, double smallest_width_mm) {
  std::optional<RunPlace> best;
  double best_merit = 0;
  for (const EdgeRun& run : runs) {
    const double width = step_mm * static_cast<double>(run.size());
    if (width < smallest_width_mm) continue;
    const std::vector<double> merit = merits(run, step_mm, finger_mm);
    const double top = *std::max_element(merit.begin(), merit.end());
    const double of_run = top * std::sqrt(std::min(width, 64.0) / 64);
    if (of_run <= best_merit) continue;
    best_merit = of_run;
    best = {&run, middleOfLongest(merit, 0.97 * top)};
  }
  return best;
}

std::optional<RunPlace> bestPlaceIn(const std::vector<EdgeRun>& runs, int slice) {
  std::optional<RunPlace> best;
  double best_merit = 0;
  for (const EdgeRun& run : runs)
    for (std::size_t i = 0; i < run.size(); ++i) {
      const double merit = edgeMerit(run[i].edge.depth_mm, run[i].edge.incut_deg);
      if (run[i].slice != slice || merit <= best_merit) continue;
      best_merit = merit;
      best = {&run, i};
    }
  return best;
}

}  // namespace holdshelf
