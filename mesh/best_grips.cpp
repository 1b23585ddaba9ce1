// SPDX-License-Identifier: Apache-2.0
#include "mesh/best_grips.h"

#include <tbb/enumerable_thread_specific.h>
#include <tbb/parallel_for.h>

#include <algorithm>
#include <atomic>
#include <mutex>

#include "mesh/edge_run.h"
#include "mesh/grip_numbers.h"
#include "mesh/grip_sections.h"
#include "mesh/grip_width.h"

namespace holdshelf {
namespace {

/// The line that holds the edge, or without an edge the longest; nullptr: none.
const OutsideLine* lineOf(const std::vector<OutsideLine>& lines, const SectionEdge* edge) {
  const OutsideLine* chosen = nullptr;
  double best = edge ? 1e300 : -1;
  for (const OutsideLine& line : lines) {
    if (!edge) {
      if (line.length_mm() > best) best = line.length_mm(), chosen = &line;
      continue;
    }
    const double d = (line.pointAt(edge->lip_mm) - edge->lip_at_mm).norm() +
                     (line.pointAt(edge->root_mm) - edge->root_at_mm).norm();
    if (d < best) best = d, chosen = &line;
  }
  return chosen;
}

/// Cuts the section that is kept and drawn.
/// @return  The line that holds the edge, or without an edge the longest; empty: none.
OutsideLine describeSection(const GripSections& sections, double rotation_deg, double offset,
                            const SectionEdge* edge, Section& section) {
  const std::vector<OutsideLine> lines =
      outsideLines(sections.cutter().cutOne(sections.planes(), offset), sections.outside());
  const OutsideLine* chosen = lineOf(lines, edge);
  section.set_rotation_deg(rotation_deg);
  section.set_offset_mm(offset);
  if (!chosen) return {};
  Eigen::Vector2d last(1e300, 1e300);
  for (std::size_t i = 0; i < chosen->points.size(); ++i) {
    const Eigen::Vector2d& p = chosen->points[i].at_mm;
    if ((p - last).norm() < 0.3 && i + 1 < chosen->points.size()) continue;
    last = p;
    Point2* point = section.add_points_mm();
    point->set_x(p.x());
    point->set_y(p.y());
  }
  return *chosen;
}

Grip describe(const GripSections& sections, double rotation_deg, const EdgeRun& run,
              std::size_t place, const OutsideLine& line) {
  const MeasureOptions& options = sections.options();
  const PlaneFamily& planes = sections.planes();
  Grip grip;
  grip.set_rotation_deg(rotation_deg);
  grip.set_offset_mm(planes.offset(run[place].slice));
  const EdgeFit fit = setEdgeNumbers(sections, run, place, line, grip);
  double depth = options.width_depth_share * fit.depth_mm;
  if (options.width_depth_mm > 0 && options.width_depth_mm <= fit.depth_mm)
    depth = options.width_depth_mm;
  setWidth(sections, run, place, depth, grip);
  const int stride = std::max(1, static_cast<int>(2 / planes.step_mm));
  for (std::size_t i = 0; i < run.size(); ++i) {
    if (i % static_cast<std::size_t>(stride) != 0 && i + 1 != run.size()) continue;
    EdgePlace* at = grip.add_run();
    at->set_offset_mm(planes.offset(run[i].slice));
    at->set_depth_mm(run[i].edge.depth_mm);
    at->set_lip_height_mm(run[i].edge.lip_at_mm.x());
  }
  return grip;
}

GripAt searchRotation(const SearchedMesh& source, const MeasureOptions& options,
                      double rotation_deg, SectionCutter& cutter) {
  const GripSections sections(source, options, rotation_deg, cutter);
  const PlaneFamily& planes = sections.planes();
  const std::vector<EdgeRun> runs = joinSideways(sections.edgesBySlice(), planes.step_mm);
  const auto best = sections.wantedSlice() >= 0 ? bestPlaceIn(runs, sections.wantedSlice())
                                                : bestPlace(runs, planes.step_mm, options.finger_mm,
                                                            options.smallest_width_mm);
  GripAt out;
  const double offset = best ? planes.offset(best->edge().slice) : sections.middle_mm();
  const OutsideLine line = describeSection(sections, rotation_deg, offset,
                                           best ? &best->edge().edge : nullptr, out.section);
  if (best) out.grip = describe(sections, rotation_deg, *best->run, best->at, line);
  return out;
}

}  // namespace

std::vector<GripAt> bestGrips(const SearchedMesh& source, const std::vector<double>& rotations_deg,
                              const MeasureOptions& options, const Progress& progress) {
  std::vector<GripAt> grips(rotations_deg.size());
  tbb::enumerable_thread_specific<SectionCutter> cutters(
      [&] { return SectionCutter(source.mesh, source.topology); });
  std::mutex speak;
  std::atomic<bool> stop = false;
  std::size_t done = 0;
  tbb::parallel_for(std::size_t{0}, rotations_deg.size(), [&](std::size_t i) {
    if (stop) return;
    grips[i] = searchRotation(source, options, rotations_deg[i], cutters.local());
    const std::lock_guard<std::mutex> lock(speak);
    ++done;
    if (progress && !progress("measuring grips", static_cast<double>(done) /
                                                     static_cast<double>(rotations_deg.size())))
      stop = true;
  });
  if (stop) throw Interrupted();
  return grips;
}

}  // namespace holdshelf
