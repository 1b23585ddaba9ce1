// SPDX-License-Identifier: Apache-2.0
#include "mesh/grip_sections.h"

#include <algorithm>
#include <cstdio>

#include "mesh/bad_input.h"

namespace holdshelf {

GripSections::GripSections(const SearchedMesh& source, const MeasureOptions& options,
                           double rotation_deg, SectionCutter& cutter)
    : source_(source),
      options_(options),
      cutter_(cutter),
      planes_(pullPlanes(rotation_deg)),
      outside_(source.precision.outside()) {
  edge_options_.smallest_depth_mm = options.smallest_depth_mm;
  edge_options_.contact_mm = options.contact_mm;
  edge_options_.wall_mm = std::max(1.5, 2 * source.precision.resolution_mm);
  edge_options_.facing_sigma_deg = source.precision.facingSigma_deg();
  edge_options_.turn_sigma_deg = source.precision.turnSigma_deg();
  edge_options_.kernel_mm = outside_.window_mm / 2;
  edge_options_.touch_mm = 1.2 * source.reach.spacing_mm();
  layPlanes();
}

void GripSections::layPlanes() {
  const auto [low, high] = reachAlong(source_.mesh, planes_.normal);
  planes_.step_mm = std::max(options_.slice_mm, (high - low) / 200);
  planes_.count = std::max(1, static_cast<int>((high - low) / planes_.step_mm));
  middle_mm_ = 0.5 * (low + high);
  planes_.first_mm = middle_mm_ - 0.5 * (planes_.count - 1) * planes_.step_mm;
  if (!options_.at_offset_mm) return;
  const double wanted = *options_.at_offset_mm;
  if (!(wanted > low && wanted < high)) {
    char text[160];
    std::snprintf(text, sizeof text,
                  "A section %.1f mm sideways misses the hold, which at this rotation reaches "
                  "from %.1f to %.1f mm.",
                  wanted, low, high);
    throw BadInput(text);
  }
  // Shifted so that one of the planes is the one that is asked for.
  wanted_slice_ = static_cast<int>((wanted - low) / planes_.step_mm);
  planes_.first_mm = wanted - wanted_slice_ * planes_.step_mm;
  planes_.count = wanted_slice_ + 1 + static_cast<int>((high - wanted) / planes_.step_mm);
  middle_mm_ = wanted;
}

Eigen::Vector3d GripSections::inHold(const Eigen::Vector2d& at_mm, double offset_mm) const {
  return planes_.right * at_mm.x() + planes_.up * at_mm.y() + planes_.normal * offset_mm;
}

EdgeOptions GripSections::optionsAt(double offset_mm) const {
  EdgeOptions options = edge_options_;
  options.gap_mm = [this, offset_mm](const Eigen::Vector2d& p) {
    return source_.reach.gap_mm(inHold(p, offset_mm));
  };
  options.edge_mm = [this](const SectionPoint& p) {
    const Eigen::Vector3d edge = source_.mesh.vertices_mm[p.to] - source_.mesh.vertices_mm[p.from];
    return Eigen::Vector2d(planes_.right.dot(edge), planes_.up.dot(edge));
  };
  return options;
}

std::vector<EdgeAt> GripSections::edgesOf(int slice, double offset_mm,
                                          const SectionLines& lines) const {
  std::vector<EdgeAt> edges;
  const EdgeOptions options = optionsAt(offset_mm);
  for (const OutsideLine& line : outsideLines(lines, outside_))
    for (const SectionEdge& edge : findEdges(line, options))
      if (!source_.isFilled(inHold(edge.lip_at_mm, offset_mm).head<2>()))
        edges.push_back({slice, edge});
  return edges;
}

std::vector<std::vector<EdgeAt>> GripSections::edgesBySlice() const {
  std::vector<std::vector<EdgeAt>> by_slice(static_cast<std::size_t>(planes_.count));
  cutter_.cut(planes_, [&](int k, const SectionLines& lines) {
    by_slice[k] = edgesOf(k, planes_.offset(k), lines);
  });
  return by_slice;
}

std::optional<SectionEdge> GripSections::edgeNear(double offset_mm, const SectionEdge& like) const {
  const SectionLines lines = cutter_.cutOne(planes_, offset_mm);
  std::optional<SectionEdge> best;
  double nearest = 3 + 2 * planes_.step_mm;
  for (const EdgeAt& e : edgesOf(0, offset_mm, lines))
    if (const double d = lipDistance(like, e.edge); d < nearest) {
      nearest = d;
      best = e.edge;
    }
  return best;
}

}  // namespace holdshelf
