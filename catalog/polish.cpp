// SPDX-License-Identifier: Apache-2.0
#include "catalog/polish.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <vector>

#include "capture/median.h"
#include "catalog/measured_text.h"

namespace holdshelf {
namespace {

using Eigen::Vector3d;

constexpr int kLeastCells = 12;  // For a median of the hold.

struct Cell {
  Vector3d at;
  double variance = 0, sigma = 0;  // Contrast squared, and its standard uncertainty.
};

/// A cell of the baseline with what is left of its contrast.
struct Change {
  Vector3d at;
  double log_ratio = 0, sigma = 0;
};

std::vector<Cell> cellsOf(const TextureCells& texture, const Eigen::Affine3d& T) {
  std::vector<Cell> cells;
  for (const TextureCell& cell : texture.cells)
    cells.push_back(
        {T * cell.at_mm, cell.contrast * cell.contrast, 2 * cell.contrast * cell.sigma});
  return cells;
}

/// The mean around a place: both scans' cells lie differently, so both are averaged alike.
std::optional<Cell> around(const std::vector<Cell>& cells, const Vector3d& at, double reach_mm) {
  Cell mean{at, 0, 0};
  double weights = 0, nearest = 1e300;
  for (const Cell& cell : cells) {
    const double d = (cell.at - at).norm();
    nearest = std::min(nearest, d);
    if (d > 2 * reach_mm) continue;
    const double w = std::exp(-2 * d * d / (reach_mm * reach_mm));
    mean.variance += w * cell.variance;
    mean.sigma += w * w * cell.sigma * cell.sigma;
    weights += w;
  }
  if (nearest > reach_mm) return std::nullopt;
  mean.variance /= weights;
  mean.sigma = std::sqrt(mean.sigma) / weights;
  if (!(mean.variance > 0)) return std::nullopt;
  return mean;
}

std::vector<Change> changesOf(const std::vector<Cell>& before, const std::vector<Cell>& now,
                              double reach_mm) {
  std::vector<Change> changes;
  for (const Cell& cell : before) {
    const auto then = around(before, cell.at, reach_mm), later = around(now, cell.at, reach_mm);
    if (!then || !later) continue;
    changes.push_back(
        {cell.at, 0.5 * std::log(later->variance / then->variance),
         0.5 * std::hypot(later->sigma / later->variance, then->sigma / then->variance)});
  }
  return changes;
}

/// The polished cells that hang together with one.
PolishSpot grow(const std::vector<Change>& changes, const std::vector<char>& polished,
                std::size_t seed, double near_mm, double cell_mm, std::vector<char>& taken) {
  std::vector<std::size_t> inside = {seed};
  taken[seed] = 1;
  Vector3d middle = Vector3d::Zero();
  double log_ratio = 0, sigma2 = 0;
  for (std::size_t k = 0; k < inside.size(); ++k) {
    const Change& change = changes[inside[k]];
    middle += change.at;
    log_ratio += change.log_ratio;
    sigma2 += change.sigma * change.sigma;
    for (std::size_t j = 0; j < changes.size(); ++j)
      if (polished[j] != 0 && taken[j] == 0 && (changes[j].at - change.at).norm() < near_mm) {
        taken[j] = 1;
        inside.push_back(j);
      }
  }
  const double n = static_cast<double>(inside.size());
  middle /= n;
  PolishSpot spot;
  spot.set_x_mm(middle.x());
  spot.set_y_mm(middle.y());
  spot.set_z_mm(middle.z());
  spot.set_area_mm2(n * cell_mm * cell_mm);
  const double left = std::exp(log_ratio / n);
  spot.mutable_contrast_left()->set_value(left);
  // Neighbours share what they are averaged from.
  spot.mutable_contrast_left()->set_sigma(left * std::sqrt(sigma2 / n));
  return spot;
}

}  // namespace

Polish comparePolish(const TextureCells& baseline, const TextureCells& later,
                     const Eigen::Affine3d& T_baseline_later, const PolishLimits& limits) {
  Polish polish;
  if (baseline.cells.empty() || later.cells.empty()) {
    polish.set_why_not(
        "The photos of one of the scans do not show texture finely enough, or the scan came "
        "without photos.");
    return polish;
  }
  std::vector<Change> changes = changesOf(cellsOf(baseline, Eigen::Affine3d::Identity()),
                                          cellsOf(later, T_baseline_later), limits.reach_mm);
  polish.set_cells(static_cast<int>(changes.size()));
  if (polish.cells() < kLeastCells) {
    polish.set_cells(0);
    polish.set_why_not("Too little of the surface was seen finely enough in both scans.");
    return polish;
  }
  std::vector<double> logs;
  logs.reserve(changes.size());
  for (const Change& change : changes) logs.push_back(change.log_ratio);
  const double overall = medianOf(logs);
  for (double& value : logs) value = std::abs(value - overall);
  const double spread = 1.4826 * medianOf(logs);
  const double limit = std::min(std::log(limits.contrast_left), -limits.spreads * spread);
  polish.set_overall(std::exp(overall));
  polish.set_limit(std::exp(limit));

  std::vector<char> polished(changes.size()), taken(changes.size());
  for (std::size_t i = 0; i < changes.size(); ++i) {
    changes[i].log_ratio -= overall;
    polished[i] =
        changes[i].log_ratio < limit && -changes[i].log_ratio > limits.sigmas * changes[i].sigma
            ? 1
            : 0;
  }
  for (std::size_t i = 0; i < changes.size(); ++i) {
    if (polished[i] == 0 || taken[i] != 0) continue;
    PolishSpot spot = grow(changes, polished, i, 1.6 * baseline.cell_mm, baseline.cell_mm, taken);
    if (spot.area_mm2() >= limits.area_mm2) *polish.add_spots() = spot;
  }
  std::sort(polish.mutable_spots()->begin(), polish.mutable_spots()->end(),
            [](const PolishSpot& x, const PolishSpot& y) { return x.area_mm2() > y.area_mm2(); });
  return polish;
}

void markRubbedChunks(Wear& wear) {
  const auto radius = [](double area_mm2) { return std::sqrt(area_mm2 / std::numbers::pi); };
  for (LostChunk& chunk : *wear.mutable_chunks())
    for (const PolishSpot& spot : wear.polish().spots()) {
      const double apart = std::hypot(chunk.x_mm() - spot.x_mm(), chunk.y_mm() - spot.y_mm(),
                                      chunk.z_mm() - spot.z_mm());
      if (apart < radius(chunk.area_mm2()) + radius(spot.area_mm2())) chunk.set_rubbed(true);
    }
}

std::string polishText(const Polish& polish) {
  if (polish.spots().empty()) return "";
  const PolishSpot& spot = polish.spots(0);
  std::string text = "texture rubbed to " + measuredText(spot.contrast_left(), "") +
                     " of its contrast over " + decimalText(spot.area_mm2() / 100, 0) +
                     " cm² at x " + decimalText(spot.x_mm(), 0) + ", y " +
                     decimalText(spot.y_mm(), 0) + ", z " + decimalText(spot.z_mm(), 0) + " mm";
  if (polish.spots_size() > 1)
    text += " and in " + std::to_string(polish.spots_size() - 1) + " smaller places";
  return text;
}

}  // namespace holdshelf
