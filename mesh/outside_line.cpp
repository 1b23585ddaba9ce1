// SPDX-License-Identifier: Apache-2.0
#include "mesh/outside_line.h"

#include <algorithm>
#include <cmath>

#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

// No honest section of a hold is longer than 3 m; 100 m are 250 000 samples.
constexpr double kShortest_mm = 3, kLongest_mm = 100'000;

/// Low and on the way back to -u: the back itself and the corners that a mesh cuts off beside it.
bool isBack(const SectionPoint& a, const SectionPoint& b, double back_mm) {
  return a.at_mm.y() <= back_mm && b.at_mm.y() <= back_mm && b.at_mm.x() < a.at_mm.x();
}

/// Opens a ring: at the back where it has one, else where it faces the wall most plainly.
std::vector<SectionPoint> openRing(const SectionLine& line, double back_mm, bool& had_back) {
  const std::size_t n = line.points.size();
  std::size_t start = 0;
  had_back = false;
  for (std::size_t i = 0; i < n && !had_back; ++i)
    if (isBack(line.points[i], line.points[(i + 1) % n], back_mm)) {
      start = (i + 1) % n;
      had_back = true;
    }
  if (!had_back) {
    double lowest = 1e300;
    for (std::size_t i = 0; i < n; ++i)
      if (line.points[i].at_mm.y() < lowest) {
        lowest = line.points[i].at_mm.y();
        start = i;
      }
  }
  std::vector<SectionPoint> points;
  points.reserve(n + 1);
  for (std::size_t i = 0; i <= n; ++i) points.push_back(line.points[(start + i) % n]);
  return points;
}

void sample(OutsideLine& line, double step_mm) {
  const double length = line.length_mm();
  const int n = std::max(2, static_cast<int>(length / step_mm)) + 1;
  line.step_mm = length / (n - 1);
  line.at_mm.reserve(static_cast<std::size_t>(n));
  std::size_t k = 1;
  for (int i = 0; i < n; ++i) {
    const double run = line.step_mm * i;
    while (k + 1 < line.run_mm.size() && line.run_mm[k] < run) ++k;
    const double piece = line.run_mm[k] - line.run_mm[k - 1];
    const double f = piece > 0 ? std::clamp((run - line.run_mm[k - 1]) / piece, 0.0, 1.0) : 0;
    line.at_mm.push_back((1 - f) * line.points[k - 1].at_mm + f * line.points[k].at_mm);
  }
}

/// The way at a sample is from the mean of the samples before it to the mean of those after it: as
/// steady as a fitted line for a third of the work.
void faceSamples(OutsideLine& line, double window_mm) {
  const int n = static_cast<int>(line.at_mm.size());
  std::vector<Eigen::Vector2d> sum(static_cast<std::size_t>(n) + 1, Eigen::Vector2d::Zero());
  for (int i = 0; i < n; ++i) sum[i + 1] = sum[i] + line.at_mm[i];
  const int half = std::max(1, static_cast<int>(std::lround(window_mm / line.step_mm / 2)));
  line.facing_deg.resize(static_cast<std::size_t>(n));
  for (int i = 0; i < n; ++i) {
    const int m = std::min(half, std::max({1, std::min(i, n - 1 - i)}));
    const int before = std::min(m, i), after = std::min(m, n - 1 - i);
    const Eigen::Vector2d back =
        before > 0 ? Eigen::Vector2d((sum[i] - sum[i - before]) / before) : line.at_mm[i];
    const Eigen::Vector2d front =
        after > 0 ? Eigen::Vector2d((sum[i + 1 + after] - sum[i + 1]) / after) : line.at_mm[i];
    const Eigen::Vector2d way = front - back;
    line.facing_deg[i] = static_cast<float>(std::atan2(-way.y(), way.x()) * 180 / M_PI);
  }
}

/// @param total_mm  Of the section's lines so far.
void addLine(std::vector<SectionPoint> points, bool closed, const OutsideOptions& options,
             double& total_mm, std::vector<OutsideLine>& outside) {
  if (points.size() < 3) return;
  OutsideLine line;
  line.points = std::move(points);
  line.closed = closed;
  line.run_mm.reserve(line.points.size());
  double run = 0;
  for (std::size_t i = 0; i < line.points.size(); ++i) {
    if (i > 0) run += (line.points[i].at_mm - line.points[i - 1].at_mm).norm();
    line.run_mm.push_back(run);
  }
  total_mm += run;
  if (!(total_mm <= kLongest_mm))
    throw BadInput(
        "A section of the mesh is longer than 100 m, which no hold's is; export its outer surface "
        "only, each part of it once.");
  if (run < kShortest_mm) return;
  sample(line, options.step_mm);
  faceSamples(line, options.window_mm);
  outside.push_back(std::move(line));
}

}  // namespace

Eigen::Vector2d OutsideLine::pointAt(double run) const {
  const auto next = std::lower_bound(run_mm.begin(), run_mm.end(), run);
  if (next == run_mm.begin()) return points.front().at_mm;
  if (next == run_mm.end()) return points.back().at_mm;
  const auto k = static_cast<std::size_t>(next - run_mm.begin());
  const double piece = run_mm[k] - run_mm[k - 1];
  const double f = piece > 0 ? (run - run_mm[k - 1]) / piece : 0;
  return (1 - f) * points[k - 1].at_mm + f * points[k].at_mm;
}

std::pair<std::size_t, std::size_t> OutsideLine::pointsBetween(double from_mm, double to_mm) const {
  const auto first = std::lower_bound(run_mm.begin(), run_mm.end(), from_mm);
  const auto last = std::upper_bound(first, run_mm.end(), to_mm);
  return {static_cast<std::size_t>(first - run_mm.begin()),
          static_cast<std::size_t>(last - run_mm.begin())};
}

std::vector<OutsideLine> outsideLines(const SectionLines& lines, const OutsideOptions& options) {
  std::vector<OutsideLine> outside;
  double total_mm = 0;
  for (const SectionLine& line : lines) {
    bool had_back = false;
    const std::vector<SectionPoint> points =
        line.closed ? openRing(line, options.back_mm, had_back) : line.points;
    std::vector<SectionPoint> piece;
    for (std::size_t i = 0; i < points.size(); ++i) {
      piece.push_back(points[i]);
      if (i + 1 < points.size() && isBack(points[i], points[i + 1], options.back_mm)) {
        addLine(std::move(piece), false, options, total_mm, outside);
        piece.clear();
      }
    }
    addLine(std::move(piece), line.closed && !had_back, options, total_mm, outside);
  }
  return outside;
}

}  // namespace holdshelf
