// SPDX-License-Identifier: Apache-2.0
#include "mesh/surface_distance.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <unordered_map>

#include "mesh/surface_samples.h"

namespace holdshelf {
namespace {

using Eigen::Vector3d;

constexpr double kPatch_mm = 5;      // Radius over which signed distances are averaged.
constexpr double kPatchMost_mm = 1;  // A hole's rim is no measure of the shape around it.

/// Samples of one surface and how far the other lies from each, all in millimetres of a: its units
/// are those of the surface sampled and of the other.
struct Distances {
  std::vector<Vector3d> points_mm;
  std::vector<double> distance_mm;
  std::vector<double> signed_mm;  ///< Positive: the other lies outside.
};

Distances distancesFrom(const RegistrationTarget& from, const RegistrationTarget& to,
                        const Eigen::Affine3d& motion, double from_unit, double to_unit,
                        std::size_t samples) {
  const SurfaceSamples surface = sampleSurface(from.mesh, samples);
  Distances result{surface.points_mm, std::vector<double>(surface.points_mm.size(), 1e9),
                   std::vector<double>(surface.points_mm.size(), 0)};
  tbb::parallel_for(std::size_t{0}, surface.points_mm.size(), [&](std::size_t i) {
    const Vector3d& p = surface.points_mm[i];
    const auto hit = to.scene.closestPoint(motion * p);
    if (!hit) return;
    result.distance_mm[i] = to_unit * hit->distance_mm;
    const Vector3d there = motion.inverse() * hit->point_mm - p;
    result.signed_mm[i] = std::copysign(std::min(to_unit * hit->distance_mm, kPatchMost_mm),
                                        there.dot(surface.normals[i]));
  });
  for (Vector3d& p : result.points_mm) p *= from_unit;
  return result;
}

/// Number of a cell of space; far cells may share one, which costs time only.
std::uint64_t cellNumber(const Vector3d& cell) {
  std::uint64_t number = 0;
  for (const double c : {cell.x(), cell.y(), cell.z()})
    number = (number << 21) | (static_cast<std::uint64_t>(static_cast<std::int64_t>(c)) & 0x1fffff);
  return number;
}

/// Absolute patch means of the signed distances: each sample's with those around it, found by a
/// grid of cells as wide as the patch.
std::vector<double> patchMeans(const Distances& distances) {
  const auto cellOf = [](const Vector3d& p) { return Vector3d((p / kPatch_mm).array().floor()); };
  std::unordered_map<std::uint64_t, std::vector<std::size_t>> grid;
  for (std::size_t i = 0; i < distances.points_mm.size(); ++i)
    grid[cellNumber(cellOf(distances.points_mm[i]))].push_back(i);
  std::vector<double> means(distances.points_mm.size());
  tbb::parallel_for(std::size_t{0}, means.size(), [&](std::size_t i) {
    const Vector3d& p = distances.points_mm[i];
    const Vector3d cell = cellOf(p);
    double sum = 0;
    int count = 0;
    for (int n = 0; n < 27; ++n) {
      const Eigen::Vector3i beside(n % 3 - 1, n / 3 % 3 - 1, n / 9 - 1);
      const auto near = grid.find(cellNumber(cell + beside.cast<double>()));
      if (near == grid.end()) continue;
      for (const std::size_t j : near->second) {
        if ((distances.points_mm[j] - p).squaredNorm() > kPatch_mm * kPatch_mm) continue;
        sum += distances.signed_mm[j];
        ++count;
      }
    }
    means[i] = std::abs(sum / std::max(1, count));
  });
  return means;
}

double quantile(std::vector<double>& values, std::size_t percent) {
  if (values.empty()) return std::numeric_limits<double>::infinity();
  const auto at = values.begin() + static_cast<std::ptrdiff_t>((values.size() - 1) * percent / 100);
  std::nth_element(values.begin(), at, values.end());
  return *at;
}

}  // namespace

SurfaceDistance distanceBetween(const RegistrationTarget& a, const RegistrationTarget& b,
                                const Eigen::Affine3d& b_to_a, double scale, std::size_t samples) {
  std::vector<double> all, patches;
  for (const Distances& way : {distancesFrom(b, a, b_to_a, scale, 1, samples),
                               distancesFrom(a, b, b_to_a.inverse(), 1, scale, samples)}) {
    all.insert(all.end(), way.distance_mm.begin(), way.distance_mm.end());
    const auto means = patchMeans(way);
    patches.insert(patches.end(), means.begin(), means.end());
  }
  return {quantile(all, 50), quantile(all, 95), quantile(patches, 85)};
}

}  // namespace holdshelf
