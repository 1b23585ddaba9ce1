// SPDX-License-Identifier: Apache-2.0
#include "mesh/grip_width.h"

#include <algorithm>
#include <cmath>

namespace holdshelf {
namespace {

/// Where between a place that is deep enough and its neighbour the depth falls below `depth`.
double refineEnd(const GripSections& sections, const EdgeRun& run, std::size_t inner, int towards,
                 double depth) {
  double in = sections.planes().offset(run[inner].slice),
         out = in + towards * sections.planes().step_mm;
  for (int i = 0; i < 3; ++i) {
    const double middle = 0.5 * (in + out);
    const auto edge = sections.edgeNear(middle, run[inner].edge);
    (edge && edge->depth_mm >= depth ? in : out) = middle;
  }
  return 0.5 * (in + out);
}

int fingersIn(double width, double finger_mm) {
  // A twentieth of a finger over the end does no harm.
  return std::clamp(static_cast<int>(std::floor(width / finger_mm + 0.05)), 0, 4);
}

Span spanAround(const GripSections& sections, const EdgeRun& run, std::size_t place, double depth) {
  std::size_t first = place, last = place;
  const auto joined = [&](std::size_t a, std::size_t b) {
    return run[b].slice - run[a].slice <= 2;
  };
  while (first > 0 && joined(first - 1, first) && run[first - 1].edge.depth_mm >= depth) --first;
  while (last + 1 < run.size() && joined(last, last + 1) && run[last + 1].edge.depth_mm >= depth)
    ++last;
  Span span;
  span.set_from_mm(refineEnd(sections, run, first, -1, depth));
  span.set_to_mm(refineEnd(sections, run, last, 1, depth));
  span.set_fingers(fingersIn(span.to_mm() - span.from_mm(), sections.options().finger_mm));
  return span;
}

void addSpans(const GripSections& sections, const EdgeRun& run, std::size_t place, double depth,
              Grip& grip) {
  grip.set_width_depth_mm(depth);
  const Span best = spanAround(sections, run, place, depth);
  *grip.add_spans() = best;
  for (std::size_t i = 0; i < run.size(); ++i) {
    const double at = sections.planes().offset(run[i].slice);
    bool known = false;
    for (const Span& s : grip.spans())
      known = known || (at >= s.from_mm() - 0.01 && at <= s.to_mm() + 0.01);
    if (known || run[i].edge.depth_mm < depth) continue;
    const Span span = spanAround(sections, run, i, depth);
    if (span.to_mm() - span.from_mm() > 2) *grip.add_spans() = span;
  }
  const double width = best.to_mm() - best.from_mm();
  grip.mutable_edge_width_mm()->set_value(width);
  grip.set_fingers(best.fingers());
}

/// Standard uncertainty of where a span ends. Within a run it ends where the depth falls below
/// the stated one; with the run, where the surface stops being a grip face: at once, or by
/// turning away gradually, which noise moves.
double endSigma(const GripSections& sections, const EdgeRun& run, double end, double depth_sigma) {
  const double step = sections.planes().step_mm;
  double before = 0, after = 0;
  const EdgeAt* last = nullptr;
  for (const EdgeAt& e : run) {
    const double d = sections.planes().offset(e.slice) - end;
    if (d < 0 && d > -2 * step) before = e.edge.depth_mm;
    if (d > 0 && d < 2 * step && after == 0) after = e.edge.depth_mm;
    if (std::abs(d) < 2 * step) last = &e;
  }
  if (before > 0 && after > 0)
    return depth_sigma / std::max(0.1, std::abs(after - before) / (2 * step));
  if (!last) return 0;
  const auto inner = last == &run.front() ? last + std::min<std::ptrdiff_t>(8, &run.back() - last)
                                          : last - std::min<std::ptrdiff_t>(8, last - &run.front());
  const double noise = sections.source().precision.facingSigma_deg();
  const double left = last->edge.grip_facing_deg - sections.edgeOptions().grip_facing_deg;
  const double turn = (inner->edge.grip_facing_deg - last->edge.grip_facing_deg) /
                      (step * std::max(1, std::abs(inner->slice - last->slice)));
  if (left > 15 + 4 * noise) return 0;  // It ends at once.
  return (std::abs(left) / 2 + noise) / std::max(turn, 0.2);
}

}  // namespace

void setWidth(const GripSections& sections, const EdgeRun& run, std::size_t place, double depth_mm,
              Grip& grip) {
  addSpans(sections, run, place, depth_mm, grip);
  const double d_sigma = grip.edge_depth_mm().sigma();
  const double ends = std::hypot(endSigma(sections, run, grip.spans(0).from_mm(), d_sigma),
                                 endSigma(sections, run, grip.spans(0).to_mm(), d_sigma));
  grip.mutable_edge_width_mm()->set_sigma(
      std::hypot(std::min(ends, 5.0), std::hypot(0.1 * sections.planes().step_mm,
                                                 0.2 * sections.source().precision.resolution_mm)));
}

}  // namespace holdshelf
